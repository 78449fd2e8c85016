"""The words results are written in: headers and void runs, in the languages of the trade.

Common words from memory, no source; a header that is not here is named by hand once and remembered.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

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
