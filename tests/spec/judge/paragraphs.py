"""The chapter on judging as data: every paragraph a small table, a charter's settings and what each set counts as.

Times are of the year 2026, everybody is an adult and in the emergency department unless the table says otherwise.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class Paragraph:
    """``says`` is the rule in one sentence; ``sets`` the table; ``charter`` the settings that differ from the usual.

    ``rate`` is numerator and denominator, none where the paragraph is not about the rate.
    """

    says: str
    sets: str
    charter: Mapping[str, Any] = field(default_factory=dict)
    rate: tuple[int, int] | None = None


GROWTH = (
    Paragraph(
        "A commensal in one of two sets is contaminated, and the other set is no growth.",
        """
        set at          grew                        class         reason
        1   03-01T10:00 staphylococcus-epidermidis  contaminated  one_of_several
        2   03-01T10:20 -                           no_growth     no_organism
        """,
    ),
    Paragraph(
        "A negated organism is no growth.",
        """
        set at          grew                                  class         reason
        1   03-01T10:00 !staphylococcus-aureus                no_growth     no_organism
        2   03-01T10:20 !staphylococcus-aureus+corynebacterium contaminated one_of_several
        """,
    ),
    Paragraph(
        "An organism outside the list is a pathogen, also beside text that cannot be read.",
        """
        set at          grew                class     reason
        1   03-01T10:00 escherichia-coli    pathogen  pathogen_grew
        2   03-01T10:20 escherichia-coli+?  pathogen  pathogen_grew
        """,
    ),
    Paragraph(
        "Text that cannot be read, and a genus too wide for the list, stay unresolved, also beside a commensal.",
        """
        set at          grew                          class       reason
        1   03-01T10:00 ?                             unresolved  unread_organism
        2   03-01T10:10 staphylococcus                unresolved  unread_organism
        3   03-01T10:20 staphylococcus-epidermidis+?  unresolved  unread_organism
        """,
    ),
    Paragraph(
        "Under the rule of any commensal every set with a listed commensal is contaminated, whatever else grew.",
        """
        set at          grew                                         class         reason
        1   03-01T10:00 staphylococcus-epidermidis                   contaminated  any_commensal
        2   03-01T10:10 staphylococcus-epidermidis                   contaminated  any_commensal
        3   03-01T10:20 staphylococcus-epidermidis+escherichia-coli  contaminated  any_commensal
        4   03-01T10:30 staphylococcus-epidermidis+?                 contaminated  any_commensal
        5   03-01T10:40 escherichia-coli                             pathogen      pathogen_grew
        """,
        {"rule": "any_commensal"},
    ),
)

DECIDED = (
    Paragraph(
        "What medical microbiology judged significant is a pathogen, and its partner keeps the class it has.",
        """
        set at          grew                                    class       reason
        1   03-01T10:00 staphylococcus-epidermidis~significant  pathogen    judged_significant
        2   03-01T10:20 staphylococcus-epidermidis              adjudicate  same_in_both
        3   03-01T10:30 -                                       no_growth   no_organism
        """,
    ),
    Paragraph(
        "A commensal judged a contaminant is contaminated, also beside a pathogen or the same in both.",
        """
        set at          grew                                                       class         reason
        1   03-01T10:00 staphylococcus-epidermidis~contaminant                     contaminated  judged_contaminant
        2   03-01T10:20 staphylococcus-epidermidis~contaminant+escherichia-coli    contaminated  judged_contaminant
        """,
    ),
    Paragraph(
        "An organism outside the list that was judged a contaminant stays a pathogen: the list says what is counted.",
        """
        set at          grew                          class     reason
        1   03-01T10:00 escherichia-coli~contaminant  pathogen  pathogen_grew
        """,
    ),
    Paragraph(
        "A rule that counts any listed growth counts it whatever was judged.",
        """
        set at          grew                                    class         reason
        1   03-01T10:00 staphylococcus-epidermidis~significant  contaminated  any_commensal
        """,
        {"rule": "any_commensal"},
    ),
)

LISTS = tuple(
    Paragraph(
        f"What the list '{key}' says decides, and a species on no list is a pathogen.",
        f"""
        set at          grew                          class  reason
        1   03-01T10:00 streptococcus-viridans-group  {viridans}
        2   03-01T10:20 kocuria                       {kocuria}
        3   03-01T10:30 bacillus                      contaminated different_in_both
        4   03-01T10:40 cutibacterium-acnes           contaminated different_in_both
        """,
        {"commensal_list": key},
    )
    for key, viridans, kocuria in (
        ("short", "contaminated different_in_both", "pathogen pathogen_grew"),
        ("ecdc", "pathogen pathogen_grew", "pathogen pathogen_grew"),
        ("surveillance_2020", "contaminated different_in_both", "contaminated different_in_both"),
    )
)

PARTNERS = (
    Paragraph(
        "The same commensal in two sets is left to the microbiologist.",
        """
        set at          grew                        class       reason
        1   03-01T10:00 staphylococcus-epidermidis  adjudicate  same_in_both
        2   03-01T10:20 staphylococcus-epidermidis  adjudicate  same_in_both
        3   03-01T10:30 -                           no_growth   no_organism
        """,
    ),
    Paragraph(
        "The same commensal in two sets may be counted as a pathogen.",
        """
        set at          grew                        class     reason
        1   03-01T10:00 staphylococcus-epidermidis  pathogen  same_in_both
        2   03-01T10:20 staphylococcus-epidermidis  pathogen  same_in_both
        """,
        {"same_commensal": "pathogen"},
    ),
    Paragraph(
        "A group and one of its members are the same organism.",
        """
        set at          grew                              class       reason
        1   03-01T10:00 staphylococcus-epidermidis        adjudicate  same_in_both
        2   03-01T10:20 staphylococcus-coagulase-negative adjudicate  same_in_both
        """,
    ),
    Paragraph(
        "An unspeciated genus beside its species is the same organism; it stays unresolved itself.",
        """
        set at          grew                        class       reason
        1   03-01T10:00 staphylococcus-epidermidis  adjudicate  same_in_both
        2   03-01T10:20 staphylococcus              unresolved  unread_organism
        """,
    ),
    Paragraph(
        "Different commensals in two sets are contaminated.",
        """
        set at          grew                        class         reason
        1   03-01T10:00 staphylococcus-epidermidis  contaminated  different_in_both
        2   03-01T10:20 corynebacterium             contaminated  different_in_both
        """,
    ),
    Paragraph(
        "Different commensals in two sets may be left to the microbiologist.",
        """
        set at          grew                        class       reason
        1   03-01T10:00 staphylococcus-epidermidis  adjudicate  different_in_both
        2   03-01T10:20 corynebacterium             adjudicate  different_in_both
        """,
        {"different_commensals": "adjudicate"},
    ),
    Paragraph(
        "Different commensals in two sets may be counted as pathogens.",
        """
        set at          grew                        class     reason
        1   03-01T10:00 staphylococcus-epidermidis  pathogen  different_in_both
        2   03-01T10:20 corynebacterium             pathogen  different_in_both
        """,
        {"different_commensals": "pathogen"},
    ),
    Paragraph(
        "A partner with text that cannot be read lacks the commensal, and is unresolved itself.",
        """
        set at          grew                        class         reason
        1   03-01T10:00 staphylococcus-epidermidis  contaminated  one_of_several
        2   03-01T10:20 ?                           unresolved    unread_organism
        """,
    ),
    Paragraph(
        "A commensal without a partner is reported on its own line.",
        """
        set at          grew                        class               reason
        1   03-01T10:00 staphylococcus-epidermidis  solitary_commensal  solitary
        """,
    ),
    Paragraph(
        "A commensal without a partner may count as contaminated.",
        """
        set at          grew                        class         reason
        1   03-01T10:00 staphylococcus-epidermidis  contaminated  solitary
        """,
        {"solitary_commensal": "count"},
    ),
    Paragraph(
        "A commensal without a partner may leave numerator and denominator.",
        """
        set at          grew                        class    reason
        1   03-01T10:00 staphylococcus-epidermidis  outside  solitary_excluded
        """,
        {"solitary_commensal": "exclude"},
    ),
    Paragraph(
        "Cancelled and rejected specimens are judged as nothing and are no partners; preliminary ones are.",
        """
        set patient at          status       grew                        class               reason
        1   anna    03-01T10:00 final        staphylococcus-epidermidis  solitary_commensal  solitary
        2   anna    03-01T10:20 cancelled    -                           -                   -
        3   anna    03-01T10:30 rejected     staphylococcus-epidermidis  -                   -
        4   bert    03-01T10:00 preliminary  staphylococcus-epidermidis  contaminated        one_of_several
        5   bert    03-01T10:20 preliminary  -                           no_growth           no_organism
        """,
    ),
    Paragraph(
        "Without a patient or a time a set has no partner.",
        """
        set patient at          grew                        class               reason
        1   -       03-01T10:00 staphylococcus-epidermidis  solitary_commensal  solitary
        2   -       03-01T10:20 -                           no_growth           no_organism
        3   bert    -           staphylococcus-epidermidis  solitary_commensal  solitary
        4   bert    03-01T10:20 -                           no_growth           no_organism
        """,
    ),
    Paragraph(
        "The same patient number at another hospital is another patient.",
        """
        set facility      at          grew                        class               reason
        1   Marrowby      03-01T10:00 staphylococcus-epidermidis  solitary_commensal  solitary
        2   Thistlecombe  03-01T10:20 -                           no_growth           no_organism
        """,
    ),
)

MIXED = tuple(
    Paragraph(
        f"Mixed growth under '{choice}'.",
        f"""
        set patient at          grew                                         class     reason
        1   anna    03-01T10:00 staphylococcus-epidermidis+escherichia-coli  {of_pair}
        2   anna    03-01T10:20 escherichia-coli                             pathogen  pathogen_grew
        3   bert    03-01T10:00 staphylococcus-epidermidis+escherichia-coli  {alone}
        """,
        {"mixed_growth": choice},
    )
    for choice, of_pair, alone in (
        ("pathogen", "pathogen mixed", "pathogen mixed"),
        ("adjudicate", "adjudicate mixed", "adjudicate mixed"),
        ("by_commensal", "contaminated one_of_several", "solitary_commensal solitary"),
    )
)

WINDOWS = (
    Paragraph(
        "Twenty-four hours after the first set is inside the window, a minute more begins a new series.",
        """
        set patient at          grew                        class               reason
        1   anna    03-01T10:00 -                           no_growth           no_organism
        2   anna    03-02T10:00 staphylococcus-epidermidis  contaminated        one_of_several
        3   bert    03-01T10:00 -                           no_growth           no_organism
        4   bert    03-02T10:01 staphylococcus-epidermidis  solitary_commensal  solitary
        """,
    ),
    Paragraph(
        "The window runs from the first set of the series, not from the set before.",
        """
        set at          grew                        class               reason
        1   03-01T10:00 -                           no_growth           no_organism
        2   03-02T06:00 staphylococcus-epidermidis  contaminated        one_of_several
        3   03-03T02:00 staphylococcus-epidermidis  solitary_commensal  solitary
        """,
    ),
    Paragraph(
        "A longer window joins what a shorter one parts.",
        """
        set at          grew                        class         reason
        1   03-01T10:00 -                           no_growth     no_organism
        2   03-03T10:00 staphylococcus-epidermidis  contaminated  one_of_several
        """,
        {"window_hours": 48},
    ),
    Paragraph(
        "The same calendar day parts a pair taken across midnight.",
        """
        set patient at          grew                        class               reason
        1   anna    03-01T23:50 staphylococcus-epidermidis  solitary_commensal  solitary
        2   anna    03-02T00:15 -                           no_growth           no_organism
        3   bert    03-01T00:05 staphylococcus-epidermidis  contaminated        one_of_several
        4   bert    03-01T23:50 -                           no_growth           no_organism
        """,
        {"window": "same_day"},
    ),
    Paragraph(
        "The same or the next day counts from the first set's day.",
        """
        set at          grew                        class               reason
        1   03-01T00:05 -                           no_growth           no_organism
        2   03-02T23:50 staphylococcus-epidermidis  contaminated        one_of_several
        3   03-03T00:10 staphylococcus-epidermidis  solitary_commensal  solitary
        """,
        {"window": "same_or_next_day"},
    ),
    Paragraph(
        "A set with a date but no hour stands at the start of its day and joins every set of it.",
        """
        set time       at          grew                        class         reason
        1   date_only  03-01T00:00 staphylococcus-epidermidis  contaminated  one_of_several
        2   exact      03-01T23:59 -                           no_growth     no_organism
        """,
    ),
)

OUTSIDE = (
    Paragraph(
        "Children are outside a charter for adults; unknown age is kept.",
        """
        set patient at          age       grew                        class     reason
        1   anna    03-01T10:00 1_to_17   staphylococcus-epidermidis  outside   not_in_population
        2   bert    03-01T10:00 unknown   escherichia-coli            pathogen  pathogen_grew
        3   cleo    03-01T10:00 80_and_over escherichia-coli          pathogen  pathogen_grew
        """,
        {"population": "adults"},
    ),
    Paragraph(
        "Adults are outside a charter for children; unknown age is kept.",
        """
        set patient at          age       grew              class     reason
        1   anna    03-01T10:00 65_to_79  escherichia-coli  outside   not_in_population
        2   bert    03-01T10:00 unknown   escherichia-coli  pathogen  pathogen_grew
        3   cleo    03-01T10:00 under_1   escherichia-coli  pathogen  pathogen_grew
        """,
        {"population": "children"},
    ),
    Paragraph(
        "A set from a central line may be left out; it is a partner all the same, and an arterial puncture is no line.",
        """
        set method        at          grew                        class         reason
        1   central_line  03-01T10:00 -                           outside       line_set
        2   venepuncture  03-01T10:10 staphylococcus-epidermidis  contaminated  one_of_several
        3   arterial      03-02T20:00 escherichia-coli            pathogen      pathogen_grew
        """,
        {"line_sets": "exclude"},
    ),
    Paragraph(
        "A unit may be left out.",
        """
        set unit    at          grew                        class         reason
        1   clinic  03-01T10:00 escherichia-coli            outside       unit_excluded
        2   ed      03-01T10:10 staphylococcus-epidermidis  contaminated  one_of_several
        """,
        {"excluded_units": ["clinic"]},
    ),
    Paragraph(
        "A later series within the days after a proven infection is a follow-up; the rest of the first series is not.",
        """
        set patient at          grew                        class         reason
        1   anna    03-01T10:00 escherichia-coli            pathogen      pathogen_grew
        2   anna    03-01T10:20 staphylococcus-epidermidis  contaminated  one_of_several
        3   anna    03-03T10:00 -                           outside       follow_up
        4   anna    03-15T10:00 staphylococcus-epidermidis  outside       follow_up
        5   anna    03-17T10:00 -                           no_growth     no_organism
        6   bert    03-03T10:00 -                           no_growth     no_organism
        """,
        {"follow_up": "exclude", "follow_up_days": 14},
    ),
    Paragraph(
        "A commensal proves no infection.",
        """
        set at          grew                        class               reason
        1   03-01T10:00 staphylococcus-epidermidis  solitary_commensal  solitary
        2   03-03T10:00 -                           no_growth           no_organism
        """,
        {"follow_up": "exclude"},
    ),
)

# Anna: a pair, one contaminated. Bert: a single commensal. Cleo: two single sets in one month. Dora: a child's pair.
_RATED = """
        set patient at          age      grew                        class               reason
        1   anna    03-01T10:00 18_to_64 staphylococcus-epidermidis  contaminated        one_of_several
        2   anna    03-01T10:20 18_to_64 -                           no_growth           no_organism
        3   bert    03-05T10:00 18_to_64 corynebacterium             {bert}
        4   cleo    03-01T10:00 18_to_64 -                           no_growth           no_organism
        5   cleo    03-09T10:00 18_to_64 -                           no_growth           no_organism
        6   dora    03-01T10:00 1_to_17  -                           outside             not_in_population
        7   dora    03-01T10:20 1_to_17  staphylococcus-epidermidis  outside             not_in_population
"""
_APART = _RATED.format(bert="solitary_commensal solitary")
_ADULTS = {"population": "adults"}
RATES = (
    Paragraph("All sets of adults are counted.", _APART, _ADULTS, (1, 5)),
    Paragraph(
        "Eligible are sets of series with two sets or more.", _APART, _ADULTS | {"denominator": "eligible_sets"}, (1, 2)
    ),
    Paragraph("A series is counted once.", _APART, _ADULTS | {"unit_of_count": "series"}, (1, 4)),
    Paragraph("A patient is counted once a month.", _APART, _ADULTS | {"unit_of_count": "patient"}, (1, 3)),
    Paragraph(
        "A bottle is counted where the file says which one grew (here each set has two, and one of two grows).",
        _APART,
        _ADULTS | {"unit_of_count": "bottle"},
        (1, 10),
    ),
    Paragraph(
        "A single commensal that counts raises the numerator.",
        _RATED.format(bert="contaminated solitary"),
        _ADULTS | {"solitary_commensal": "count"},
        (2, 5),
    ),
    Paragraph(
        "A single commensal that is excluded leaves the denominator too.",
        _RATED.format(bert="outside solitary_excluded"),
        _ADULTS | {"solitary_commensal": "exclude"},
        (1, 4),
    ),
    Paragraph(
        "A single commensal that counts is not eligible: a numerator lies within its denominator.",
        _RATED.format(bert="contaminated solitary"),
        _ADULTS | {"solitary_commensal": "count", "denominator": "eligible_sets"},
        (1, 2),
    ),
)

CHAPTER = {
    "what grew": GROWTH,
    "what was decided": DECIDED,
    "lists": LISTS,
    "partners": PARTNERS,
    "mixed growth": MIXED,
    "windows": WINDOWS,
    "outside": OUTSIDE,
    "rates": RATES,
}
