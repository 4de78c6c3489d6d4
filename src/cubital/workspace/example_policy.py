"""The thresholds a new workspace begins with: an example with a source for each value, approved by nobody.

Where no source is named the value is common practice or an invented example, and says so. Targets are given as
proportions (0 to 1). Every value belongs to someone; the owners are roles until the site puts names there.
"""

from __future__ import annotations

from cubital.domain.policy import Policy, PolicyValue
from cubital.domain.words import _

EDUCATOR = "practice educator with the laboratory"
LABORATORY = "laboratory"
COMMITTEE = "quality committee"
PRIVACY = "privacy officer"
NO_SOURCE = "common practice, no source"
EXAMPLE = "example value, not from a source"

# key, label, value, unit, source, owner
_VALUES = (
    ("contamination_target", "Contaminated sets, target: at most", 0.03, "proportion",
     "CDC, blood culture contamination overview 2022: 3 % or less", COMMITTEE),
    ("contamination_best", "Contaminated sets, what good practice reaches", 0.01, "proportion",
     "CDC, blood culture contamination overview 2022: 1 % as the goal with best practices", COMMITTEE),
    ("solitary_target", "Single sets, share of sets: at most", 0.127, "proportion",
     "Novis 2001, Arch Pathol Lab Med 125:1290: median of 333 small hospitals", COMMITTEE),
    ("solitary_by_episode_target", "Single sets, share of episodes: at most", 0.2, "proportion", EXAMPLE, COMMITTEE),
    ("bottles_complete_target", "Sets with both bottles: at least", 0.9, "proportion", EXAMPLE, COMMITTEE),
    ("receipt_limit", "Collection to receipt, aim: at most", 120, "minutes", NO_SOURCE, LABORATORY),
    ("receipt_late", "Collection to receipt, late from", 240, "minutes", NO_SOURCE, LABORATORY),
    ("receipt_late_target", "Sets received late: at most", 0.1, "proportion", EXAMPLE, LABORATORY),
    ("collector_known_target", "Sets with a known collector: at least", 0.9, "proportion", EXAMPLE, EDUCATOR),
    ("fill_minimum", "Adult bottle, fill: at least", 8, "mL",
     "invented example policy of the Vellorin network, version 7", LABORATORY),
    ("fill_maximum", "Adult bottle, fill: at most", 10, "mL",
     "invented example policy of the Vellorin network, version 7", LABORATORY),
    ("fill_low_target", "Bottles filled below the minimum: at most", 0.3, "proportion", EXAMPLE, LABORATORY),
    ("positivity_low", "Sets with growth, usual range from", 0.08, "proportion",
     "Elvy 2023, NZ Med J: Australian and New Zealand target 8 to 15 %", LABORATORY),
    ("positivity_high", "Sets with growth, usual range to", 0.15, "proportion",
     "Elvy 2023, NZ Med J: Australian and New Zealand target 8 to 15 %", LABORATORY),
    ("suppress_from", "Small counts hidden in what is shared, from", 1, "sets",
     "published thresholds differ (fewer than 5, or 1 to 10); the site chooses", PRIVACY),
    ("suppress_to", "Small counts hidden in what is shared, to", 4, "sets",
     "published thresholds differ (fewer than 5, or 1 to 10); the site chooses", PRIVACY),
    ("individual_min_draws", "Draws before one person's percentage is shown", 30, "draws", NO_SOURCE, EDUCATOR),
    ("individual_keep_months", "Figures and letters of one person, kept for", 24, "months", NO_SOURCE, EDUCATOR),
    ("coaching_capacity", "People offered support at the same time, at most 5", 5, "people", NO_SOURCE, EDUCATOR),
    ("coaching_worth", "Support is offered from so many preventable sets on", 0.5, "sets", EXAMPLE, EDUCATOR),
    ("baseline_min_points", "Months a baseline needs", 20, "months", NO_SOURCE, EDUCATOR),
    ("baseline_min_sets", "Sets a baseline needs", 500, "sets", NO_SOURCE, EDUCATOR),
    ("limit_sigmas", "Chart limits, times the usual spread", 3, "times", "Shewhart 1931", EDUCATOR),
    ("signal_chance", "Chance at most for a month beyond the limit to be a signal", 0.01, "proportion",
     EXAMPLE, EDUCATOR),
    ("shift_points", "Months on one side that make a shift", 8, "months", "Western Electric Handbook 1956", EDUCATOR),
    ("trend_points", "Months steadily up or down that make a trend", 6, "months", "Nelson 1984", EDUCATOR),
)  # fmt: skip


def build_example_policy() -> Policy:
    """The example as version 1, a draft."""
    return Policy(
        name=_("Example policy, not approved"),
        version=1,
        values=tuple(
            PolicyValue(key=key, label=label, value=float(value), unit=unit, source=source, owner=owner)
            for key, label, value, unit, source, owner in _VALUES
        ),
    )
