"""What a column can be, and the headers under which laboratories export it.

Spellings are tidied headers (``headers.tidy_header``). They are common practice seen across export layouts, no source;
a site's own spelling is learnt once per source.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from enum import StrEnum
from functools import lru_cache

from cubital.intake.headers import tidy_header


class Role(StrEnum):
    """What a column means. ``OTHER`` is not read; ``COMMENTS`` and ``SEX`` are known and deliberately not kept."""

    ACCESSION = "accession"
    PATIENT = "patient"
    BIRTH = "birth"
    AGE = "age"
    SEX = "sex"
    UNIT = "unit"
    ORDERED = "ordered"
    COLLECTED = "collected"
    COLLECTED_DATE = "collected_date"
    COLLECTED_CLOCK = "collected_clock"
    RECEIVED = "received"
    RECEIVED_DATE = "received_date"
    RECEIVED_CLOCK = "received_clock"
    LOADED = "loaded"
    POSITIVE = "positive"
    RESULTED = "resulted"
    BOTTLE = "bottle"
    AEROBIC = "aerobic_result"
    ANAEROBIC = "anaerobic_result"
    FILL = "fill_ml"
    WEIGHT = "weight"
    COLLECTOR = "collector"
    BADGE = "badge"
    SITE = "site"
    METHOD = "method"
    SPECIMEN = "specimen"
    TEST = "test"
    STATUS = "status"
    RESULT = "result"
    ORGANISM = "organism"
    ISOLATE = "isolate_no"
    ANTIBIOTIC = "antibiotic"
    QUANTITY = "quantity"
    REJECT = "reject_reason"
    COMMENTS = "comments"
    FROM = "from_time"
    TO = "to_time"
    # Only in the lines that messages become (``message_rows``); no header of a file means them.
    COLLECTED_OFFSET = "collected_offset"
    RECEIVED_OFFSET = "received_offset"
    OTHERWISE = "message_otherwise"
    VERSION = "message_version"
    REFERENCE = "message_reference"
    LOSS = "message_loss"
    OTHER = "other"


MESSAGE_ROLES = frozenset(
    {Role.COLLECTED_OFFSET, Role.RECEIVED_OFFSET, Role.OTHERWISE, Role.VERSION, Role.REFERENCE, Role.LOSS}
)  # fmt: skip

_NO = r"( ?(no|nr|num|number|numero|nummer|id|code|cod))"
_TIME = r"( ?(dt|dttm|dtm|datetime|date time|time|timestamp|ts|at|on|d t|date and time|fecha|fecha hora))"
_DATE = r"( ?(date|dt|day|fecha|datum))"
_CLOCK = r"( ?(time|tm|hour|clock|hora|zeit|heure))"
_COLLECT = (
    r"(coll|collect|collection|collected|drawn|draw|drawn by|taken|specimen collected|sample collected|sampling|sampled"
    r"|specimen collection|sample collection|coleccion|extraccion|toma|recogida|abnahme|entnahme|prelevement|prelievo)"
)
_RECEIVE = (
    r"(recv|rec|recd|rcvd|received|receive|receipt|receipt in lab|lab received|received in lab|lab receipt|arrival"
    r"|arrived"
    r"|in lab|recepcion|recibido|eingang|reception|ricevuto|specimen received|sample received|accessioned)"
)

# Full matches, most certain first. One header may fit several roles ("specimen"); the cells then decide.
_SPELLINGS: dict[Role, str] = {
    Role.ACCESSION: (
        rf"acc{_NO}?|accession{_NO}?|access{_NO}|lab{_NO}|lab acc{_NO}?|laboratory{_NO}|specimen{_NO}?|spec{_NO}"
        rf"|sample{_NO}?|smp{_NO}|micro specimen{_NO}|culture{_NO}|cult{_NO}|labno|labnr|barcode|container{_NO}"
        rf"|specimen barcode|lab episode{_NO}?|muestra{_NO}?|no de muestra|peticion{_NO}?"
        rf"|proben?{_NO}|auftrags?{_NO}|probennummer|auftragsnummer|echantillon{_NO}?|no echantillon|campione{_NO}?"
    ),
    Role.PATIENT: (
        rf"mrn|pid|pat{_NO}|patient{_NO}?|patient mrn|medical record{_NO}?|hosp{_NO}|hospital{_NO}|unit record{_NO}"
        rf"|urn|ur{_NO}"
        rf"|chart{_NO}|subject{_NO}|person{_NO}|mpi|nhc|historia clinica|paciente{_NO}?|patienten?{_NO}"
        rf"|patientennummer|hn|uhid"
        rf"|health{_NO}|registration{_NO}|reg{_NO}"
    ),
    Role.BIRTH: (
        r"dob|birth|birth ?date|date of birth|birth ?day|d o b|born|pat dob|patient dob|patient birth date"
        r"|fecha nacimiento"
        r"|fecha de nacimiento|f nacimiento|nacimiento|geburtsdatum|geb datum|date naissance|date de naissance"
    ),
    Role.AGE: r"age|age years|age yrs|age y|patient age|age at collection|age in years|edad|alter|anchor age",
    Role.SEX: r"sex|gender|pat sex|patient sex|sexo|geschlecht|sexe|m f",
    Role.UNIT: (
        r"loc|location|ward|unit|collecting (unit|ward|location)|collection (unit|ward|location)|coll (loc|location"
        r"|unit|ward)"
        r"|nursing unit|department|dept|care ?unit|clinic|patient (location|ward|unit)|pat loc|order(ing)? (location"
        r"|unit|ward)"
        r"|requesting (location|unit|ward)|req loc|source location|service|servicio|unidad|planta|station|abteilung"
        r"|servi[cz]io"
        r"|requester location|location code|ward code|loc code|loc name|ward name|unit name"
    ),
    Role.ORDERED: rf"(ord|order|ordered|order placed|request|requested){_TIME}|ordered",
    Role.COLLECTED: rf"{_COLLECT}{_TIME}?|{_COLLECT} {_DATE}{_CLOCK}|chart ?time|(date|fecha) ?(time"
    rf"|hora) (of )?{_COLLECT}"
    rf"|(date|time|hora)(time)?( of| de)? {_COLLECT}",
    Role.COLLECTED_DATE: rf"{_COLLECT}{_DATE}|chart ?date|(date|day|fecha)( of| de)? {_COLLECT}",
    Role.COLLECTED_CLOCK: rf"{_COLLECT}{_CLOCK}|(time|hora|hour)( of| de)? {_COLLECT}",
    Role.RECEIVED: rf"{_RECEIVE}{_TIME}?|(date|time|datetime)( of)? {_RECEIVE}|{_RECEIVE} {_DATE}{_CLOCK}",
    Role.RECEIVED_DATE: rf"{_RECEIVE}{_DATE}|(date|fecha)( of| de)? {_RECEIVE}",
    Role.RECEIVED_CLOCK: rf"{_RECEIVE}{_CLOCK}|(time|hora)( of| de)? {_RECEIVE}",
    Role.LOADED: rf"(load|loaded|loading|incubat(ed|ion)( start)?|bottle loaded|on instrument|inserted){_TIME}?",
    Role.POSITIVE: rf"(pos|positive|positivity|first positive|flag(ged)?( positive)?|detect(ed|ion)){_TIME}|flagged"
    rf"|first positive",
    Role.RESULTED: (
        rf"(result|results|resulted|report|reported|final|finali[sz]ed|verified|released|authori[sz]ed|stored?|updated"
        rf"|modified|validated){_TIME}|stored?time|stored?date"
    ),
    Role.BOTTLE: (
        r"bottle|bottle type|btl|btl type|bottle kind|bottles?|container|container type|medium|media|media type|vial"
        r"|vial type"
        r"|bottle (name|code|description|id|no|number)|frasco|botella|flasche|flacon|aer ana|aerobic anaerobic"
    ),
    Role.AEROBIC: r"aer|aero|aerobic|aerobic (result|bottle|culture|organism|org|bottle result)|aer (result|res|org"
    r"|bottle)|res(ult)? aer(obic)?",
    Role.ANAEROBIC: r"ana|anaero|anaerobic|anaerobic (result|bottle|culture|organism|org|bottle result)|(ana"
    r"|anaer) (result|res|org|bottle)"
    r"|res(ult)? ana(erobic)?",
    Role.FILL: r"fill|fill ml|volume|vol|vol ml|volume ml|fill volume|blood volume|blood vol( ml)?|fill volume ml|ml"
    r"|volumen|blood volume ml",
    Role.WEIGHT: r"weight|weight g|bottle weight|gross weight|net weight|wt|wt g",
    Role.COLLECTOR: (
        r"collector|coll by|collected by|collect by|collector (id|initials|name|code|no|number)|drawn by|drawer"
        r"|phleb|phlebotomist"
        r"|taken by|collection (user|staff|by)|coll (id|user|init|initials)|sampler|nurse|extraido por|extractor"
        r"|abgenommen von"
    ),
    Role.BADGE: r"badge|badge (id|no|number|scan)|collector badge|employee (id|no|number)|staff (id|no|number)"
    r"|scan(ned)? (by|id)",
    Role.SITE: (
        r"site|body site|src|source|specimen source|spec source|collection site|draw site|coll site|site desc"
        r"|source desc|anatomic site"
        r"|source site|sitio|lugar|localizacion|entnahmeort"
    ),
    Role.METHOD: r"method|collection method|coll method|draw method|coll type|collection type|draw type|access"
    r"|procedure|metodo|route",
    Role.SPECIMEN: (
        r"specimen|specimen type|spec type|spec type desc|specimen desc(ription)?|sample type|spec desc|material"
        r"|type of specimen"
        r"|tipo de muestra|tipo muestra|probenart|sample|spec"
    ),
    Role.TEST: (
        r"test|test name|test desc|exam|examination|procedure name|order|order name|ordered test"
        r"|order desc(ription)?|test code"
        r"|investigation|battery|panel|profile|prueba|estudio|culture type|test description|order code"
    ),
    Role.STATUS: (
        r"status|stat|result status|res status|report status|rpt status|state|order status|p f c|estado|final prelim"
        r"|prelim final"
        r"|result state|report type|resultstatus|final flag"
    ),
    Role.RESULT: (
        r"result|results|res|result text|result value|culture result|final result|res text|finding|findings|value"
        r"|result desc"
        r"|report|report text|interpretation text|outcome|growth|resultado|ergebnis|resultat|culture|result name"
        r"|cult result"
    ),
    Role.ORGANISM: (
        r"org|organism|organisms|organism name|org name|organism desc|org desc|isolate|isolate name|microorganism"
        r"|micro organism"
        r"|bacteria|pathogen|species|microorganismo|germen|keim|erreger|organisme|organism identified"
        r"|identified organism"
        r"|org[a-z]* ?\d|organism ?\d"
    ),
    Role.ISOLATE: r"isolate (num|no|number|id|seq)|iso (no|num|number)|org (no|num|seq)|organism (no|number|num|seq)"
    r"|isol no",
    Role.ANTIBIOTIC: r"ab|abx|antibiotic|antibiotic name|ab name|drug|drug name|antimicrobial|agent|antibiotico"
    r"|ab code|antibiotic code|suscept drug",
    Role.QUANTITY: r"quantity|qty|quant|no of bottles|bottles pos(itive)?|pos bottles|positive bottles"
    r"|bottles positive|num pos|pos of|cantidad",
    Role.REJECT: r"reject reason|rejection reason|reject|rejected|rejection|cancel reason|cancellation reason|reason"
    r"|reject code|motivo",
    Role.COMMENTS: r"comments?|notes?|remarks?|free text|result comments?|comentarios?|observaciones|bemerkung",
    Role.FROM: (
        r"from|from time|start|start time|in ?time|in|time in|entered|entry|moved in|arrived|admit|admit time"
        r"|start date|from date"
        r"|transfer in|transfer (date|time|date time)|in dt|in date|from dt|start dt|desde|entrada|begin|begin time"
        r"|effective from|valid from"
        rf"|(admit|admitted|admission|adm|arrive|arrived|arrival|enter|entered|entry|unit in|ward in|ingreso|llegada)"
        rf"({_TIME}|{_DATE})"
    ),
    Role.TO: (
        r"to|to time|end|end time|out ?time|out|time out|left|exit|moved out|until|end date|to date|transfer out"
        r"|out dt|out date|to dt"
        r"|end dt|hasta|salida|discharge|discharged|effective to|valid to"
        rf"|(leave|leaving|left|exit|exited|depart|departed|departure|discharge|discharged|disch|unit out|ward out|alta"
        rf"|salida)({_TIME}|{_DATE})"
    ),
}  # fmt: skip
_COMPILED = {role: re.compile(pattern) for role, pattern in _SPELLINGS.items()}

# Parts of a header that hint at a role when nothing fits in full.
_HINTS: tuple[tuple[Role, re.Pattern[str]], ...] = (
    (Role.BIRTH, re.compile(r"\b(dob|birth|born|nacimiento)\b")),
    (Role.RECEIVED, re.compile(r"\b(recv|rcvd|recd|received|receipt)\b")),
    (Role.COLLECTED, re.compile(r"\b(coll|collect|collected|collection|drawn)\b.*\b(dt|date|time|dttm|datetime)\b")),
    (Role.COLLECTOR, re.compile(r"\b(collector|phleb\w*|drawn by|collected by|taken by)\b")),
    (Role.ORGANISM, re.compile(r"\b(organism|org|isolate)\b")),
    (Role.ANTIBIOTIC, re.compile(r"\b(antibiotic|antimicrobial)\b")),
    (Role.STATUS, re.compile(r"\bstatus\b")),
    (Role.ACCESSION, re.compile(r"\b(accession|acc|labno|specimen (id|no|number))\b")),
    (Role.PATIENT, re.compile(r"\b(mrn|patient (id|no|number)|medical record)\b")),
    (Role.UNIT, re.compile(r"\b(ward|location|unit|department)\b")),
    (Role.BOTTLE, re.compile(r"\bbottle\b")),
    (Role.RESULT, re.compile(r"\b(result|culture)\b")),
)
EXACT, HINT = 0.95, 0.7


@lru_cache(maxsize=4096)
def roles_of_header(header: str) -> dict[Role, float]:
    """Each role this header may name, with how sure the spelling makes it (0 to 1). Empty for an unknown header."""
    tidy = tidy_header(header)
    if not tidy:
        return {}
    found = {role: EXACT for role, pattern in _COMPILED.items() if pattern.fullmatch(tidy)}
    if not found:
        found = {role: HINT for role, pattern in _HINTS if pattern.search(tidy)}
        found = dict(list(found.items())[:2])
    return found


def header_score(cells: Sequence[str]) -> float:
    """How much a row looks like a header of this trade: the share of its filled cells that name a known column."""
    filled = [cell for cell in cells if cell.strip()]
    known = sum(1 for cell in filled if len(cell) < 60 and max(roles_of_header(cell).values(), default=0.0) >= EXACT)
    return known / len(filled) if len(filled) > 1 else 0.0
