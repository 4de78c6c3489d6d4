"""The inputs of the story "The collection shift" (invented), as a hand-kept table; and others like it."""

from __future__ import annotations

from cubital.answers.hand_tables import text_rows
from cubital.answers.worth_table import parse_costs

HEADINGS = "option,input,low,likely,high,unit,kind,from,currency,year,source,given by\n"
SHARED = """\
,sets a year,,8400,,sets,count,local,,,laboratory count,
,contaminated share,,4.2 %,,,share,local,,,laboratory count by the charter,
,cost of one contaminated set,700,2900,6400,,cost,local,USD,2025,marginal costs of last year,finance
"""
SHIFT = """\
the collection shift,share of draws covered,40 %,55 %,65 %,,share,local,,,draws by hour of the week,
the collection shift,relative risk,0.33,0.41,0.70,,ratio,assumed,,,what other places report,
the collection shift,hours a day,,12,,hours,count,local,,,planned rota,
the collection shift,days a year,,365,,days,count,local,,,planned rota,
the collection shift,wage per hour,,34,,,wage,local,USD,2025,pay scale,finance
the collection shift,relief factor,,1.12,,,ratio,local,,,pay scale,
"""
KIT = """\
the kit,share of draws covered,70 %,90 %,95 %,,share,assumed,,,supply plan,
the kit,relative risk,0.75,0.94,1.10,,ratio,local,,,trial in the emergency department,
the kit,price per covered set,4,5,7,,price,local,USD,2025,offer,supply
"""
PARTS = """\
,sets a year,,8400,,sets,count,local,,,laboratory count,
,contaminated share,3.8 %,4.2 %,4.6 %,,share,local,,,laboratory count by the charter,
,repeat sets for each contaminated set,0.5,1,2,,count,local,,,log of repeats,
,cost of one repeat set,20,30,45,,cost,local,USD,2025,laboratory,finance
,laboratory work-up of one contaminated set,40,70,120,,cost,local,USD,2025,laboratory,finance
,antibiotic days for each contaminated set,0,1.6,3,,count,published,,,a cohort of 2024,
,cost of one antibiotic day,25,60,140,,cost,local,USD,2025,pharmacy,finance
,extra bed-days for each contaminated set,0,1,2.4,,count,published,,,two publications,
,share of bed-days that could really be released,10 %,40 %,80 %,,share,assumed,,,bed office,
,cost of one bed-day,300,450,700,,cost,local,USD,2025,bed office,finance
"""


def table_of(*parts: str):
    """The inputs in those lines."""
    return parse_costs(text_rows(HEADINGS + "".join(parts), where="costs.csv", advice=""), where="costs.csv")
