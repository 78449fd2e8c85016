"""What one cell of a results table says: time, cones, missed gates, penalty seconds, a void word."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, replace
from functools import lru_cache

from paddock.model.settings import Rules

# the words results are written in: headers and void runs, in the languages of the trade


_LETTERS = str.maketrans({"ß": "ss", "ø": "o", "đ": "d", "ł": "l", "æ": "ae", "œ": "oe", "ı": "i", "°": "o", "º": "o"})
_NOT_WORD = re.compile(r"[^\w#]+|_")


@lru_cache(maxsize=20_000)
def plain(text: str) -> str:
    """Lower case, without accents or punctuation, single spaces: how words are compared."""
    bare = unicodedata.normalize("NFKD", text.casefold().translate(_LETTERS))
    kept = "".join(char for char in bare if not unicodedata.combining(char))
    return " ".join(_NOT_WORD.sub(" ", kept).split())


def _words(text: str) -> frozenset[str]:
    return frozenset(part.strip() for part in text.replace("\n", ",").split(",") if part.strip())


HEADERS: dict[str, frozenset[str]] = {
    "number": _words("""
        no, nr, num, number, car no, car number, car nr, car, bib, bib no, start no, start number, st nr,
        stnr, startnr, startnummer, start nr, fahrzeugnr, numero, nro, num ro, no course, dossard, dorsal,
        pettorale, numer, nr startowy, numer startowy, cislo, startovni cislo, rajtszam, startni broj, st
        broj, kilpailunumero, nummer, n, race no, race number, entry, entry no"""),
    "name": _words("""
        name, driver, driver name, drivers, pilot, pilote, pilota, piloto, fahrer, fahrername, teilnehmer,
        conducteur, nom, nom prenom, nombre, conductor, nome, rijder, naam, forare, forer, kuljettaja,
        ajaja, kierowca, zawodnik, jezdec, jmeno, versenyzo, nev, vozac, ime, competitor, athlete, entrant,
        namn, navn, surname, last name, nachname, cognome, apellido, apellidos, prijmeni, nazwisko,
        efternamn, etternavn, sukunimi"""),
    "first": _words("""
        first name, first, given name, vorname, prenom, nome proprio, voornaam, fornamn, fornavn, etunimi,
        imie, krestni jmeno, keresztnev"""),
    "class": _words("""
        class, classes, cls, klasse, klass, cat, category, categorie, categoria, kategorie, kategoria,
        kategorija, classe, clase, luokka, klasa, trida, osztaly, division, div, gruppe"""),
    "run": _words("""
        run, ride, leg, course run, run no, run number, lauf, laufnr, lauf nr, heat, manche, manga, prova,
        ronde, omgang, ak, kierros, bieg, jizda, futam, voznja, round, pass"""),
    "time": _words("""
        time, raw, raw time, run time, zeit, fahrzeit, laufzeit, temps, tempo, tiempo, tijd, tid, aika,
        czas, cas, ido, vrijeme, t, secs, seconds, sek, time s, time sec"""),
    "cones": _words("""
        cones, cone, con, pylonen, pylone, pyl, hutchen, hut, plots, plot, quilles, cone s, coni, birilli,
        conos, cono, pionnen, koner, kon, kegler, keilat, keila, tuki, pacholki, kuzely, kuzel, bojak,
        cunjevi, hits"""),
    "penalty": _words("""
        pen, pens, penalty, penalties, penalty time, penalty s, penalty sec, pen s, strafe, strafen,
        strafzeit, strafsekunden, straf, penalite, penalites, penalita, penalizacion, penalizaciones,
        straffe, straff, rangaistus, kara, kary, trest, trestne, bunteto, kazna, added, added time, zuschlag"""),
    "misses": _words("""
        misses, miss, missed, gates, gate, missed gates, wrong gates, wrong gate, mg, tore, tor, torfehler,
        portes, porte manquee, puertas, porten, poorten, bramki, branky, kapu, portit"""),
    "status": _words("""status, state, stato, estado, etat, stand, tila, stav, allapot"""),
    "day": _words("""day, tag, jour, dia, giorno, dag, paiva, dzien, den, nap, dan"""),
    "at": _words(
        """at, time of day, clock, uhrzeit, heure, hora, ora, klokke, klockslag, godzina, start time, startzeit"""
    ),
    "try": _words("""try, attempt, versuch, essai, tentative, rerun no"""),
}
"""Role to the header words that mean it, as ``plain`` leaves them."""

IGNORED = _words("""
        pos, position, rank, rk, place, pl, platz, rang, rg, rang nr, clt, classement, posicion, puesto,
        posizione, plats, plassering, sija, miejsce, poradi, helyezes, mjesto, best, beste, bester,
        besttime, best time, meilleur, meilleur temps, mejor, migliore, bast, bastlauf, paras, najlepszy,
        nejlepsi, legjobb, total, totals, total time, sum, summe, gesamt, gesamtzeit, totale, totaal,
        totalt, suma, celkem, osszesen, ukupno, score, result, results, ergebnis, resultat, final,
        finaltime, net, nett, diff, difference, gap, behind, from first, from prev, ruckstand, abstand,
        ecart, distacco, diferencia, achterstand, ero, strata, ztrata, delta, interval, index, index time,
        factor, faktor, points, punkte, pts, poang, points scored, nation, country, club, team, verein,
        vehicle, fahrzeug, make, colour, color, tyres, tyre, laps, speed""")
"""Headers that are never read as a role, whatever their column holds."""

STATUS: dict[str, frozenset[str]] = {
    "dnf": _words("""
        dnf, d n f, did not finish, not finished, off, off course, oc, out, nt, no time, ret, retired, rtd,
        ausgeschieden, ausfall, ausg, nicht im ziel, nicht beendet, n i z, niz, aufgabe, abandon, ab, abd,
        abandono, no termina, no termino, rit, ritirato, non arrivato, uitgevallen, opgegeven, brutit,
        bruten, brot, udgaet, brutt, keskeytti, kesk, nie ukonczyl, nie ukonczyla, nu, nedokoncil, nedojel,
        odstoupil, feladta, odustao, nao terminou, desistiu, invalid, void"""),
    "dns": _words("""
        dns, d n s, did not start, not started, wd, withdrawn, nicht gestartet, n g, ng, n a s, nas, nicht
        am start, non partant, np, non partito, no sale, no salio, nao partiu, niet gestart, ej start, ej
        startat, ikke startet, ei lahtenyt, nie startowal, nie startowala, ns, nestartoval, nem indult, nije
        startao"""),
    "dsq": _words("""
        dsq, dq, d q, disq, disqualified, excluded, exc, ex, disqualifiziert, disqualifie, descalificado,
        squalificato, sq, desclassificado, gediskwalificeerd, diskvalificerad, diskvalificeret,
        diskvalifisert, hylatty, dyskwalifikacja, diskvalifikovan, kizarva, diskvalifikacija"""),
    "rerun": _words("""
        rerun, re run, rr, rrn, rerun granted, re run granted, wiederholung, wiederholungslauf, wdh, rejeu,
        a refaire, repeticion, ripetizione, herkansing, omkorning, omkjoring, uusinta, powtorka, opakovana,
        ujrafutas"""),
    "practice": _words("practice, training, warm up, warmup, essais libres, prova libera, entrenamiento"),
}
"""Status of the event folder to the words that mean it."""

_BY_WORD = {word: status for status, words in STATUS.items() for word in words}


def status_of(text: str) -> str | None:
    """The status a word means (``+off``, ``D.N.F.``, ``ausgeschieden``, ``DNF1``), None where it means none."""
    word = plain(text)
    return _BY_WORD.get(word) or _BY_WORD.get(word.rstrip("0123456789 "))


_BLANKS = frozenset(
    ("", "-", "--", "---", "—", "–", ".", "...", "n/a", "na", "nan", "none", "null", "0.000", "0.00", "0")
)
_TIME = re.compile(
    r"""(?:(?P<min>\d{1,3})\s*(?::|'|’|′|min\.?|m)\s*|(?P<dotmin>\d{1,2})\.(?=\d{2},\d))?
        (?P<sec>\d{1,7})(?:[.,](?P<part>\d+))?\s*(?:"|″|”|s\b|sec\b|sek\b)?""",
    re.VERBOSE | re.IGNORECASE,
)
_TWO_MARKS = re.compile(r"(?P<min>\d{1,2})(?:\.|'|’|′)(?P<sec>\d{2})(?:\.|\"|″|”|'')(?P<part>\d{2,3})(?!\d)")
_MARKS = " \t*†‡¹²³·;!"
_MORE = re.compile(
    r"""(?P<sign>[+&/|]?)\s*(?P<open>[(\[]?)\s*[+]?\s*(?P<count>\d{1,3})(?P<part>[.,]\d{1,3})?\s*
        (?P<unit>[^\W\d_]*)\.?\s*[)\]]?""",
    re.VERBOSE,
)
_CONE_UNITS = frozenset(
    ("", "c", "k", "p", "x", "cone", "cones", "pyl", "pylon", "pylonen", "plot", "plots", "coni", "kegel")
)
_SECOND_UNITS = frozenset(("s", "sec", "secs", "sek", "second", "seconds", "sekunden"))
_GATE_UNITS = frozenset(("g", "gate", "gates", "m", "mg", "miss", "misses", "t", "tor", "tore", "porte", "portes"))
_FLOAT_NOISE = 4
_LONGEST_MS = 3_600_000


@dataclass(frozen=True, slots=True)
class Result:
    """One run as posted. None = the cell does not say; ``penalty_ms``: added seconds not yet told apart."""

    time_ms: int | None = None
    cones: int | None = None
    misses: int | None = None
    penalty_ms: int | None = None
    status: str | None = None


@lru_cache(maxsize=50_000)
def tidy(text: str) -> str:
    """Stripped, with plain spaces and hyphens."""
    return " ".join(text.replace("\xa0", " ").replace("\u202f", " ").replace("−", "-").split())


def _milliseconds(part: str | None, text: str) -> int:
    digits = part or ""
    if len(digits) <= 3:
        return int(digits.ljust(3, "0"))
    tail = digits[3:]
    if not tail.strip("0"):
        return int(digits[:3])
    if len(tail) > _FLOAT_NOISE and tail[:_FLOAT_NOISE] in ("0" * _FLOAT_NOISE, "9" * _FLOAT_NOISE):
        return int(digits[:3]) + (tail[0] == "9")
    raise ValueError(f"{text!r} has more than three decimals: times are kept to the millisecond")


def _time_ms(found: re.Match[str], text: str) -> int:
    groups = found.groupdict()
    minutes = groups.get("min") or groups.get("dotmin")
    seconds, part = groups["sec"], groups["part"]
    if minutes is None and part is None and len(seconds) >= 5:
        ms = int(seconds)
    else:
        if minutes is not None and int(seconds) > 59:
            raise ValueError(f"{text!r} is no time: after the minutes come 0 to 59 seconds")
        ms = (int(minutes or 0) * 60 + int(seconds)) * 1000 + _milliseconds(part, text)
    if ms > _LONGEST_MS:
        raise ValueError(f"{text!r} is longer than an hour: no run can be")
    return ms


def _match_time(text: str) -> re.Match[str] | None:
    return _TWO_MARKS.match(text) or _TIME.match(text)


@lru_cache(maxsize=50_000)
def read_result(text: str, ranks: bool = False) -> Result | None:
    """A run cell: ``46.512+1``, ``46,51 (2)``, ``1:02.3 +4.0 s``, ``dnf``, ``DNF (47.1)``; None: no run.

    ``ranks``: a number in brackets is the place in that run, not cones. Raises ValueError with the reason.
    """
    cell = tidy(text).strip(_MARKS)
    if cell.casefold() in _BLANKS:
        return None
    found = _match_time(cell)
    if found is None:
        return _word_first(cell, text, ranks)
    result = Result(time_ms=_time_ms(found, cell))
    if _is_void_time(result.time_ms):
        return Result(status="dnf")
    return _rest(result, cell[found.end() :], text, ranks)


def _is_void_time(ms: int | None) -> bool:
    """All nines is how some timing sheets print a run without a time: common practice, no source."""
    return ms in (999_999, 999_990, 999_900)


def _word_first(cell: str, text: str, ranks: bool) -> Result:
    word, _, rest = cell.partition("(")
    status = status_of(word)
    if status is None:
        raise ValueError(f"{_short(text)} is neither a time nor a word for a void run")
    inner = rest.rstrip(" )")
    if inner and (found := _match_time(inner)) is not None:
        return replace(_rest(Result(time_ms=_time_ms(found, inner)), inner[found.end() :], text, ranks), status=status)
    return Result(status=status)


def _rest(result: Result, rest: str, text: str, ranks: bool) -> Result:
    """What follows the time: counts, seconds, words."""
    rest = rest.strip(_MARKS)
    while rest:
        found = _MORE.match(rest)
        if found is None:
            status = status_of(rest.lstrip("+(/ ").rstrip(") "))
            if status is None:
                raise ValueError(f"{_short(text)}: {_short(rest)} after the time can't be read")
            return replace(result, status=status)
        result = _add(result, found, text, ranks)
        rest = rest[found.end() :].strip(_MARKS)
    return result


def _add(result: Result, found: re.Match[str], text: str, ranks: bool) -> Result:
    count, unit = int(found["count"]), found["unit"].casefold()
    bracket = bool(found["open"])
    if not found["sign"] and not bracket and not unit:
        raise ValueError(f"{_short(text)}: a bare number after the time may be cones or a place: map it by hand")
    if found["part"] or unit in _SECOND_UNITS:
        return replace(result, penalty_ms=count * 1000 + int((found["part"] or ".")[1:].ljust(3, "0")))
    if unit in _GATE_UNITS:
        return replace(result, misses=count)
    if unit in _CONE_UNITS:
        return result if bracket and ranks else replace(result, cones=count)
    status = status_of(unit)
    if status is None:
        raise ValueError(f"{_short(text)}: {_short(found[0])} after the time can't be read")
    return replace(result, status=status)


def _short(text: str) -> str:
    return repr(text if len(text) <= 40 else text[:37] + "...")


def read_count(text: str) -> int | None:
    """Cones or gates in a column of their own: ``2``, ``2.0``, ``+1``, blank, ``-``; None: not said."""
    cell = tidy(text).strip("+ *xX")
    if cell.casefold() in _BLANKS - {"0", "0.00", "0.000"}:
        return None
    whole, _, part = cell.replace(",", ".").partition(".")
    if not whole.isascii() or not whole.isdigit() or part.strip("0") or int(whole) > 99:
        raise ValueError(f"{_short(text)} is no count")
    return int(whole)


def read_penalty_ms(text: str) -> int | None:
    """Added seconds in a column of their own, in milliseconds; None for a blank."""
    cell = tidy(text).strip("+ *")
    if cell.casefold() in _BLANKS - {"0", "0.00", "0.000"}:
        return None
    found = _TIME.fullmatch(cell)
    if found is None:
        raise ValueError(f"{_short(text)} is no number of seconds")
    return _time_ms(found, cell)


def split_penalty(penalty_ms: int, rules: Rules) -> tuple[int, int]:
    """Added seconds as (cones, missed gates): the fewest marks that add up to them.

    Raises ValueError when the event's rules can't give that sum.
    """
    cone, miss = rules.cone_ms, rules.miss_ms
    for gates in range(penalty_ms // miss if miss else 0, -1, -1):
        left = penalty_ms - gates * (miss or 0)
        if left == 0 or (cone and left % cone == 0):
            return (left // cone if cone else 0), gates
    raise ValueError(f"{penalty_ms / 1000:g} s added is no whole number of cones at {rules.cone_s} s")
