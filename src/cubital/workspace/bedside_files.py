"""What the bedside commands read and write: weigh-in sheets in; cards, sheets and pictures out."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from pathlib import Path

from cubital.bedside.fill import Weighing
from cubital.bedside.label_answer import LabelRequest
from cubital.domain.collection import CollectionPolicy
from cubital.domain.errors import FileProblem
from cubital.domain.words import _
from cubital.intake.weighing import read_weigh_sheet
from cubital.papers.out_files import write_whole
from cubital.workspace.printing import paper_size


def read_weighings(path: Path, *, tares: Mapping[str, float]) -> tuple[Weighing, ...]:
    """The weighings of a sheet; ``tares`` (grams by kind of bottle) fill in where the sheet has none."""
    found = []
    for row in read_weigh_sheet(path):
        tare = row.tare_g if row.tare_g is not None else tares.get(row.kind.value)
        if tare is None:
            raise FileProblem(
                _("there is no empty weight for {kind} bottles.").format(kind=row.kind.value),
                where=path.name,
                fix=_("Add a column 'tare g', or give the lot's with --tare-aerobic and --tare-anaerobic."),
            )
        found.append(
            Weighing(accession=row.accession, bottle=row.bottle, gross_g=row.gross_g, tare_g=tare, kind=row.kind)
        )
    return tuple(found)


def write_card(policy: CollectionPolicy, *, out: Path, today: date) -> int:
    """Writes the bedside card; gives its size in bytes."""
    from cubital.papers.card_page import build_card

    content = build_card(policy, today=today).encode()
    write_whole(out, content)
    return len(content)


def write_label_sheet(
    policy: CollectionPolicy, bottle: str, request: LabelRequest, *, out: Path, paper: str, today: date
) -> None:
    """Writes the true-size sheet as PDF."""
    from cubital.papers.label_sheet import print_label_sheet

    write_whole(out, print_label_sheet(policy, bottle, request, today=today, paper=paper_size(paper)))


def write_label_picture(
    policy: CollectionPolicy, bottle: str, request: LabelRequest, *, out: Path, today: date
) -> None:
    """Writes the position as SVG."""
    from cubital.papers.label_sheet import label_picture

    write_whole(out, label_picture(policy, bottle, request, today=today).encode())


def write_sheet(policy: CollectionPolicy, kind: str, *, out: Path, paper: str, today: date, bottle: str) -> None:
    """Writes one of the bedside papers by name: volumes, short-draw, stop-line, badge or leaflet."""
    from cubital.papers import bedside_sheets as sheets
    from cubital.papers.leaflet import print_leaflet

    size = paper_size(paper)
    content = {
        "volumes": lambda: sheets.print_volume_chart(policy, today=today, paper=size),
        "short-draw": lambda: sheets.print_short_draw(policy, today=today, paper=size),
        "stop-line": lambda: sheets.print_stop_line(policy, bottle, today=today, paper=size),
        "badge": lambda: sheets.print_badge(policy, today=today, paper=size),
        "leaflet": lambda: print_leaflet(policy, today=today, paper=size),
    }[kind]()
    write_whole(out, content)
