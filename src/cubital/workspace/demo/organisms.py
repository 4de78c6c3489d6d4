"""What can grow in the invented network, and the ways in which its laboratories write it.

Spellings are the kinds that laboratories' files show: abbreviations, old names, slips of the keyboard, a negated
organism before the real one. Weights are invented.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Grower:
    """One organism of the invented world.

    ``relatives`` are names that count as the same organism when they turn up in another set of the series (a genus
    and its species, a group and its members). ``stain`` is what the first report says.
    """

    name: str
    commensal: bool
    weight: float
    spellings: tuple[str, ...]
    stain: str
    relatives: tuple[str, ...] = ()


GROUP = "Staphylococcus, coagulase-negative"

COMMENSALS = (
    Grower(name=GROUP, commensal=True, weight=34, stain="GPC CLUSTERS",
           spellings=("CNS", "COAG NEG STAPH", "CoNS", "Coag. neg. staphylococcus"),
           relatives=("Staphylococcus epidermidis", "Staphylococcus hominis", "Staphylococcus capitis")),
    Grower(name="Staphylococcus epidermidis", commensal=True, weight=26, stain="GPC CLUSTERS", relatives=(GROUP,),
           spellings=("STAPH EPIDERMITIS", "Staphylococcus epidermidis", "STAPH EPIDERMIDIS")),
    Grower(name="Staphylococcus hominis", commensal=True, weight=11, stain="GPC CLUSTERS", relatives=(GROUP,),
           spellings=("STAPH HOMINIS", "Staphylococcus hominis")),
    Grower(name="Staphylococcus capitis", commensal=True, weight=6, stain="GPC CLUSTERS", relatives=(GROUP,),
           spellings=("Staphylococcus capitis", "STAPH CAPITIS")),
    Grower(name="Micrococcus luteus", commensal=True, weight=6, stain="GPC TETRADS",
           spellings=("Micrococus luteus", "Micrococcus luteus")),
    Grower(name="Corynebacterium", commensal=True, weight=7, stain="GPR",
           spellings=("DIPTHEROIDS", "Corynebacterium sp.", "Diphtheroids",
                      "No Staphylococcus aureus isolated. Corynebacterium sp.")),
    Grower(name="Bacillus", commensal=True, weight=4, stain="GPR",
           spellings=("Bacillus sp (not anthracis)", "BACILLUS SP")),
    Grower(name="Cutibacterium acnes", commensal=True, weight=4, stain="GPR",
           spellings=("PROPIONIBACTERIUM ACNES", "Cutibacterium acnes")),
    Grower(name="Streptococcus, viridans group", commensal=True, weight=5, stain="GPC CHAINS",
           spellings=("Viridans strep", "VIRIDANS STREPTOCOCCI")),
)  # fmt: skip

PATHOGENS = (
    Grower(name="Escherichia coli", commensal=False, weight=28, stain="GNR",
           spellings=("E.coli", "Escherichia coli", "ESCHERICHIA COLI", "E. COLI")),
    Grower(name="Staphylococcus aureus", commensal=False, weight=22, stain="GPC CLUSTERS",
           spellings=("STAPH AUREUS", "Staphylococcus aureus", "S. aureus")),
    Grower(name="Klebsiella pneumoniae", commensal=False, weight=11, stain="GNR",
           spellings=("Klebsiella pneumoniae", "KLEB PNEUMONIAE", "Klebsiela pneumoniae")),
    Grower(name="Enterococcus faecalis", commensal=False, weight=8, stain="GPC CHAINS",
           spellings=("Enterococcus faecalis", "ENTEROCOCCUS FAECALIS", "E. faecalis")),
    Grower(name="Pseudomonas aeruginosa", commensal=False, weight=6, stain="GNR",
           spellings=("Pseudomonas aeruginosa", "PSEUDOMONAS AERUGINOSA")),
    Grower(name="Streptococcus pneumoniae", commensal=False, weight=6, stain="GPC CHAINS",
           spellings=("Streptococcus pneumoniae", "STREP PNEUMONIAE")),
    Grower(name="Proteus mirabilis", commensal=False, weight=5, stain="GNR",
           spellings=("Proteus mirabilis", "PROTEUS MIRABILIS")),
    Grower(name="Bacteroides fragilis", commensal=False, weight=4, stain="GNR",
           spellings=("Bacteroides fragilis", "BACTEROIDES FRAGILIS")),
    Grower(name="Enterobacter cloacae", commensal=False, weight=4, stain="GNR",
           spellings=("Enterobacter cloacae", "ENTEROBACTER CLOACAE")),
    Grower(name="Candida albicans", commensal=False, weight=3, stain="YEAST",
           spellings=("Candida albicans", "CANDIDA ALBICANS")),
)  # fmt: skip

GROWERS = {grower.name: grower for grower in (*COMMENSALS, *PATHOGENS)}

NO_GROWTH = ("NG 5D", "NO GROWTH AT 5 DAYS", "No growth")


def same_organism(one: str, other: str) -> bool:
    """Whether two names of this world are the same organism or one stands for the other's group."""
    return one == other or other in GROWERS[one].relatives
