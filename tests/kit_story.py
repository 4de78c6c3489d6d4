"""The counts of the story of the kit and the phlebotomists, as a table that somebody keeps by hand."""

from __future__ import annotations

HEAD = "unit,period,collector,kit,sets,contaminated"
ROWS = """M emergency,before,nurse,no,2700,119
M emergency,after,nurse,yes,1240,49
M emergency,after,phlebotomist,yes,1510,26
M assessment,before,nurse,no,1180,38
M assessment,after,nurse,yes,1215,36
T emergency,before,nurse,no,1420,61
T emergency,after,nurse,no,660,29
T emergency,after,phlebotomist,no,790,13
T medical,before,nurse,no,880,25
T medical,after,nurse,no,905,24""".splitlines()
TABLE = "\n".join([HEAD, *ROWS])
