"""The example policy: every value with its unit, source and owner."""

from __future__ import annotations

from cubital.workspace.example_policy import build_example_policy
from reference_pages.markdown import Page, table

INTRODUCTION = """
Every threshold is a value of the local policy, with an owner, an approval and a review date. What is shipped is an
**example**. It is a draft until someone approves it, and it expires after its review date. Local policy comes first.
"""


def build_page() -> Page:
    """The page ``policy.md``."""
    policy = build_example_policy()
    rows = [(f"`{v.key}`", v.label, f"{v.value:g}", v.unit, v.source, v.owner) for v in policy.values]
    lines = [
        *INTRODUCTION.strip().splitlines(),
        "",
        f"Fingerprint of the shipped values: `{policy.fingerprint()}`.",
        "",
    ]
    lines += table(("Key", "Meaning", "Value", "Unit", "Source", "Owner"), rows)
    return Page(name="policy.md", title="Policy values", body="\n".join(lines))
