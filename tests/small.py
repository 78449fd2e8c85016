"""One small event of two days on the disk, whole enough for every page and every verb.

Twelve entrants in three classes. My number is 7 (a front-driven saloon, class ASH), my second entry 24 (a light coupe,
class OAK); 9 leads ASH. It is the second day, 13:08: four of five runs are driven, the fifth is to come.
``small_event(folder, {"changes.csv": None})`` leaves a file out, a text replaces it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import datetime
from pathlib import Path
from random import Random

from tests.small_cars import COUPE, SALOON

NOW = datetime(2026, 6, 14, 13, 8)

EVENT = """\
format = 1
name = "Two days on the fairground"
site = "Fairground, lower field"
altitude_m = 240
days = [2026-06-13, 2026-06-14]
runs_per_day = 5

[rules]
cone_s = 2.0
miss = "invalid"
count = "best"
days = "sum"
decimals = 3
index_rounding = "truncate"
index_on = "total"
ties = "shared"
protest_min = 30

[[classes]]
code = "ASH"
name = "Saloons on street tyres"

[[classes]]
code = "OAK"
name = "Coupes on street tyres"

[[classes]]
code = "ELM"
name = "Everything else, on index times"
scored_by = "index"

[index]
edition = "2026 table of the club"
ASH = 0.812
OAK = 0.846
ELM = 0.871

[mine]
numbers = ["7", "24"]
cars = { "7" = "saloon", "24" = "coupe" }

[forecast]
hottest_c = 27.0
coldest_c = 11.0

[grid]
interval_s = 60

[[gauges]]
id = "pen"
step_psi = 0.5
repeat_psi = 0.3
offset_psi = 0.0
"""

RUNS = """\
day,run,number,at,mistake,unsafe,lost_s,lost_where,entry,mid,exit,slalom,surface,note
1,1,7,09:05,no,,,,1,2,0,0,damp,nothing grips behind
1,2,7,09:30,no,,0.4,third gate,1,2,1,0,drying,one cone at the third gate
1,3,7,09:55,no,,,,1,2,1,1,drying,dry but for the dip
1,4,7,10:20,no,,,,0,1,0,0,dry,first run on the softer bar: calmer
1,5,7,10:46,no,,0.2,long left,0,0,0,1,dry,"quickest so far, a cone"
1,1,24,11:48,no,,,,-1,-1,0,0,dry,
1,3,24,12:38,no,,,,-1,-1,-1,-1,dry,front up a pound: no better
1,5,24,13:28,no,,,,-1,0,0,0,dry,
2,1,24,09:18,no,,,,-1,-1,0,0,dry,
2,3,24,10:08,no,,,,0,1,1,0,dry,front bar a hole softer
2,4,24,10:33,no,,0.2,dip,0,1,1,0,dry,one cone
2,5,24,10:58,no,,,,0,0,1,0,dry,best of this car
2,1,7,11:35,no,,,,0,1,0,0,dry,
2,2,7,12:00,no,,,,0,0,1,1,dry,rear a pound lower
2,3,7,12:25,yes,buzz from the left rear,0.9,gate 4,0,1,1,1,dry,slowed at gate 4 to listen
2,4,7,12:50,no,,0.1,long left,1,1,0,1,dry,no buzz; cone in the long left
"""

PRESSURES = """\
day,run,number,moment,at,lf_psi,rf_psi,lr_psi,rr_psi,tyre_c,air_c,wait_min,gauge,sun,cooling,note
1,,7,cold,07:40,29,29,32,32,11,11,,pen,,,night in the van
1,1,7,before,08:55,29,29,32,32,,12,,pen,,,
1,1,7,after,09:08,30.5,30.5,33,33,20,12,,pen,,,
1,2,7,set,09:15,30.5,30.5,35,35,,12.5,7,pen,,,drying
1,2,7,before,09:25,30,30,34.5,34.5,,12.5,17,pen,,,
1,2,7,after,09:32,31.5,31.5,35.5,36,,13,,pen,,,
1,3,7,set,09:40,31.5,31.5,38,38,,13,8,pen,,,
1,3,7,before,09:50,31,31,37.5,37.5,,13.5,18,pen,,,
1,3,7,after,09:58,33,33,39,39.5,,14,,pen,,,
1,4,7,set,10:05,32,32,40,40,,14.5,7,pen,,,dry target
1,4,7,before,10:15,31.5,31.5,39.5,39.5,,14.5,17,pen,,,
1,4,7,after,10:23,33.5,33.5,41,41.5,28,15,,pen,,,
1,5,7,set,10:30,32.5,32.5,40.5,40.5,,15.5,7,pen,,,
1,5,7,after,10:49,34.5,34.5,42,42,31,16,,pen,,,
1,,24,cold,07:45,25,25,26,26,11,11,,pen,,,
1,1,24,after,11:50,28,28,29,29,27,17,,pen,,,
1,3,24,set,12:25,28,28,28.5,28.5,,18,30,pen,,,front up 1
1,3,24,after,12:41,29.5,29.5,30,30,,18,,pen,,,
1,5,24,after,13:30,28.5,28.5,30,30,30,19,,pen,,,
2,,7,cold,07:30,29.5,29.5,37,37,12,12,,pen,,,as left last night
2,,24,cold,07:35,25,25,26,26,12,12,,pen,,,
2,1,24,after,09:20,27.5,27.5,28.5,28.5,25,15,,pen,,,
2,3,24,after,10:11,28,28,29,29,,18,,pen,,,
2,5,24,after,11:01,28.5,28.5,29.5,29.5,32,20,,pen,left,,
2,1,7,before,11:28,31,30.5,38.5,38.5,,22,,pen,left,,
2,1,7,after,11:38,34,33,41,40.5,35,22,,pen,left,,
2,2,7,set,11:45,32.5,32,39,39,,22.5,7,pen,left,,rear a pound down to try
2,2,7,before,11:55,32,31.5,38.5,38.5,,23,17,pen,left,,
2,2,7,after,12:03,34.5,33.5,40.5,40,37,23.5,,pen,left,,
2,3,7,set,12:10,33,32.5,40.5,40.5,,24,7,pen,left,spray,fronts sprayed
2,3,7,before,12:20,32.5,32,40,40,,24.5,17,pen,left,spray,
2,3,7,after,12:28,34.5,33.5,41.5,41,38,25,,pen,left,,
2,4,7,before,12:45,33.5,33,41,40.5,,25,17,pen,left,shade,
2,4,7,after,12:53,35.5,34.5,42.5,42,41,25.5,,pen,left,,
"""

CHANGES = """\
id,day,run,at,number,kind,key,item,before,after,reason,expect,undoes,decision
ca1mm,1,3,09:40,7,correction,rear_pressure,rear tyre pressure,35,38,it dries,at the dry target by run 4,,keep
cb2nn,1,4,10:08,7,test,rear_bar,rear bar hole,2-2,2-1,loose in the middle of the long left,"calmer, a quarter second",,keep
cc3pp,1,3,12:24,24,test,front_pressure,front tyre pressure,27,28,see if it turns in,sharper,,revert
cd4qq,1,5,13:10,24,test,front_pressure,front tyre pressure,28,27,no sharper,as before,cc3pp,
ce5rr,2,3,09:55,24,test,front_bar,front bar hole,2-2,1-1,pushes on the way in,more front grip,,
cf6ss,2,2,11:44,7,test,rear_pressure,rear tyre pressure,40,39,rear reads high in the sun,steadier,,
cg7tt,2,4,12:36,7,repair,heat_shield,left rear heat shield bolt,loose,25 N·m,buzz from the left rear,quiet,,keep
"""

TYRES = """\
tyre,set,size,kind,date_code,bought,price,runs_before,directional,max_cold_psi,floor_mm,delivery_days
S1,saloon A,215/45R17,street,0825,2025-04-11,152,52,no,50,2,8
S2,saloon A,215/45R17,street,0825,2025-04-11,152,52,no,50,2,8
S3,saloon A,215/45R17,street,0825,2025-04-11,152,52,no,50,2,8
S4,saloon A,215/45R17,street,0825,2025-04-11,152,52,no,50,2,8
C1,coupe,185/55R15,street,4024,2024-11-22,109,30,yes,42,2,12
C2,coupe,185/55R15,street,4024,2024-11-22,109,30,yes,42,2,12
C3,coupe,185/55R15,street,4024,2024-11-22,109,30,yes,42,2,12
C4,coupe,185/55R15,street,4024,2024-11-22,109,30,yes,42,2,12
"""

FITTED = "day,run,number,corner,tyre,orientation\n" + "".join(
    f"1,1,{number},{corner},{letter}{at},\n"
    for number, letter in (("7", "S"), ("24", "C"))
    for at, corner in enumerate(("lf", "rf", "lr", "rr"), 1)
)

TREAD = """\
day,tyre,inner_mm,middle_mm,outer_mm
0,S1,4.9,5.0,4.0
0,S2,4.8,5.0,3.8
0,S3,5.8,5.8,5.6
0,S4,5.8,5.8,5.5
1,S1,4.8,4.9,3.7
1,S2,4.7,4.9,3.4
1,S3,5.7,5.7,5.5
1,S4,5.7,5.7,5.4
0,C1,5.6,5.7,5.3
0,C2,5.6,5.7,5.2
0,C3,5.4,5.3,5.2
0,C4,5.4,5.3,5.2
1,C1,5.5,5.6,5.1
1,C2,5.5,5.6,5.0
1,C3,5.3,5.2,5.1
1,C4,5.3,5.2,5.1
"""

TREAD_TEMPS = """\
day,run,number,corner,inner_c,middle_c,outer_c,mark
1,1,7,lf,20,19,22,on
1,1,7,rf,20,19,22,on
1,3,7,lr,24,25,24,past
1,5,7,lf,32,33,36,on
1,5,7,rf,33,33,37,on
2,2,7,lf,40,40,44,on
2,2,7,rf,41,41,45,on
2,4,7,lf,44,44,48,on
2,4,7,rf,44,45,49,on
2,4,7,lr,37,39,38,on
2,5,24,lf,35,35,37,on
2,5,24,rf,35,36,37,on
"""

WEATHER = """\
day,at,air_c,surface_c,humidity_pct,station_hpa,surface,sky,wind_kmh
1,08:30,11,12,92,985.1,wet,overcast,7
1,09:30,13,14,84,985.3,drying,clouds,8
1,10:30,16,20,70,985.2,dry,sun and cloud,9
1,12:00,18,27,60,985.0,dry,sun,10
2,08:45,14,18,71,987.4,dry,clear,4
2,11:30,22,38,48,987.2,dry,clear,6
2,12:45,25,43,41,986.9,dry,clear,7
"""

WORKLIST = """\
id,opened,item,reason,due,torque_nm,done,note
wa1mm,day 1 07:10,wheel nuts of the saloon,wheels on this morning,after run 1,115,day 1 09:18,
wb2nn,day 1 10:08,rear end links and collars,rear bar moved,after the event,,,
wc3pp,day 2 12:26,find the buzz at the left rear,heard on run 3,before run 4,,day 2 12:36,heat shield bolt loose
wd4qq,day 2 12:36,left rear heat shield bolt again,was found loose,after run 5,25,,new washer under it
we5rr,day 2 13:00,order front tyres for the saloon,outer edges low,after the event,,,
"""

NOTES = """\
id,day,run,at,topic,text
na1mm,1,,07:25,course,"the dip holds water longest, stay left of it"
nb2nn,1,1,09:12,tyres,rears never woke; fronts fine
nc3pp,1,5,11:00,rival,9 has new tyres on
nd4qq,2,3,12:34,car,the buzz was the left rear heat shield bolt
ne5rr,2,4,12:55,driver,long left: wait for the second cone before the throttle
"""

CHECKLIST = """\
"night before" = ["charge the pump", "read the rules that changed"]
inspection = ["wheel nuts to the maker's torque", "battery held down", "brake pedal firm"]
"before grid" = ["nothing loose in the car", "pressures read", "helmet and belts"]
after = ["road pressures before driving home", "what was learnt"]
"""

TICKS = """\
list,item,day,at
night before,charge the pump,1,06:40
inspection,wheel nuts to the maker's torque,1,07:15
inspection,battery held down,1,07:16
before grid,nothing loose in the car,1,08:50
inspection,wheel nuts to the maker's torque,2,07:20
"""

FIELD = (
    ("7", "Ilka Norrby", "saloon", "ASH", "", "front", "A", 0),
    ("9", "Piet Anselm Rook", "saloon", "ASH", "", "front", "A", 0),
    ("13", "[M] Tarn", "saloon", "ASH", "", "front", "A", 48_100),
    ("16", 'Oda "Bolt" Finn, sr.', "saloon", "ASH", "", "front", "A", 47_600),
    ("22", "Lasse Ekdahl", "saloon", "ASH", "", "front", "A", 47_000),
    ("24", "Ilka Norrby", "coupe", "OAK", "", "rear", "B", 0),
    ("31", "Nele Brandt", "coupe", "OAK", "", "rear", "B", 45_100),
    ("45", "Timo Varga", "coupe", "OAK", "", "rear", "B", 44_600),
    ("52", "Runa Stolt", "buggy", "ELM", "", "rear", "A", 44_200),
    ("63", "Edda Quist", "van", "ELM", "ASH", "front", "A", 47_400),
    ("77", "Jarl Obermoor", "coupe", "ELM", "OAK", "rear", "A", 45_600),
    ("81", "Svea Lund", "saloon", "ELM", "ASH", "front", "A", 47_900),
)
"""Number, driver, car, class, index, driven wheels, group, the best time it could drive in ms (0: told in ``TOLD``)."""

TOLD = {
    "7": ("51.214 49.870+1 48.032 46.905 46.577+1", "46.731 46.402 47.515 46.098+1"),
    "9": ("51.330 49.905 48.120 47.260+1 46.880", "46.690 46.415 46.310 46.520+1"),
    "24": ("45.310 44.960 44.871+1 44.702 44.780", "44.990 44.640 44.615 44.700+1 44.480"),
}
"""My two cars and the rival they chase, day by day."""

SURFACE = {("A", 1): (80, 50, 25, 8, 3), ("B", 1): (8, 4, 1, 0, 0), ("A", 2): (6, 2, 0, 0), ("B", 2): (8, 3, 1, 0, 0)}
"""How much slower than at its best the course is in each run, in thousandths."""

FIRST_RUN = {("A", 1): 9 * 60, ("B", 1): 11 * 60 + 47, ("A", 2): 11 * 60 + 30, ("B", 2): 9 * 60 + 17}


def _written(number: str, best_ms: int, day: int, group: str) -> list[str]:
    """A day's runs as results are written."""
    if number in TOLD:
        return TOLD[number][day - 1].split()
    texts = []
    for run, slower in enumerate(SURFACE[group, day], 1):
        luck = Random(f"{number} {day} {run}").randrange(620)
        learnt = max(0, 240 - 60 * run) if day == 1 else 0
        time_ms = best_ms + best_ms * slower // 1000 + learnt + luck
        texts.append(f"{time_ms / 1000:.3f}" + ("+1" if luck % 9 == 0 else ""))
    return texts


def _times() -> Iterator[str]:
    """Rows of times.csv in the order they were driven."""
    places = {group: [entry[0] for entry in FIELD if entry[6] == group] for group in "AB"}
    rows = []
    for number, *_, group, best_ms in FIELD:
        for day in (1, 2):
            for run, text in enumerate(_written(number, best_ms, day, group), 1):
                minute = FIRST_RUN[group, day] + 25 * (run - 1) + (places[group].index(number) + 5) % len(places[group])
                time, _, cones = text.partition("+")
                rows.append(
                    (
                        day,
                        minute,
                        f"{day},{run},{number},{time},{cones or 0},0,,{minute // 60:02}:{minute % 60:02}:00,\n",
                    )
                )
    return (text for *_, text in sorted(rows))


def _grid() -> Iterator[str]:
    for day in (1, 2):
        for group in "AB":
            members = [entry[0] for entry in FIELD if entry[6] == group]
            for order, number in enumerate(members[-5:] + members[:-5], 1):
                yield f"{day},{number},{group},{order},{'B' if group == 'A' else 'A'}\n"


def _entrants() -> Iterator[str]:
    for number, driver, car, class_, index, drive, *_ in FIELD:
        name = f'"{driver.replace(chr(34), chr(34) * 2)}"' if '"' in driver else driver
        yield f"{number},{name},{car},{class_},{index},{drive},street,,\n"


FILES = {
    "event.toml": EVENT,
    "entrants.csv": "number,driver,car,class,index,drive,tyre_kind,control,status\n" + "".join(_entrants()),
    "grid.csv": "day,number,group,order,work_group\n" + "".join(_grid()),
    "times.csv": "day,run,number,time,cones,misses,status,at,try\n" + "".join(_times()),
    "runs.csv": RUNS,
    "pressures.csv": PRESSURES,
    "treadtemps.csv": TREAD_TEMPS,
    "changes.csv": CHANGES,
    "weather.csv": WEATHER,
    "notes.csv": NOTES,
    "tyres.csv": TYRES,
    "fitted.csv": FITTED,
    "tread.csv": TREAD,
    "worklist.csv": WORKLIST,
    "ticks.csv": TICKS,
    "checklist.toml": CHECKLIST,
    "cars/saloon.toml": SALOON,
    "cars/coupe.toml": COUPE,
}


def small_event(folder: Path, changed: Mapping[str, str | None] | None = None) -> Path:
    """Write the event into ``folder``; ``changed``: files with another text, or None for a file left out."""
    for name, text in {**FILES, **(changed or {})}.items():
        if text is not None:
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, "utf-8")
    return folder
