"""The command that computes what left again."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from cubital.cli.answering import print_answer, private_words
from cubital.cli.shared import json_option, opened, print_json
from cubital.domain.answer import build_answer_dict
from cubital.domain.words import _, day_words, share_words

if TYPE_CHECKING:
    from cubital.workspace.opening import Workspace
    from cubital.workspace.reproducing import Difference, Reproduced


@click.command("again")
@click.argument("receipt", required=False)
@json_option
@click.pass_context
def again_command(ctx: click.Context, receipt: str | None, as_json: bool) -> None:
    """Compute the figures of a receipt again, to the last digit; without one, list the receipts that were kept.

    RECEIPT is the code on the paper. Says first whether it is the same, then what left, then what today's data say.
    """
    from cubital.workspace.reproducing import again, refuse_another

    workspace = opened(ctx)
    if receipt is None:
        _print_list(workspace, as_json=as_json)
        return
    found = again(workspace, receipt)
    if as_json:
        print_json(_plain(found))
    else:
        _print(found)
    refuse_another(found)


def _print(found: Reproduced) -> None:
    from cubital.workspace.reproducing import pin_words, sameness_words

    click.echo(sameness_words(found))
    for words in found.why:
        click.echo(f"  {words}")
    click.echo("  " + _("What left: {how}, Cubital {version}.").format(
        how=pin_words(found.kept.pin), version=found.kept.code_version
    ))  # fmt: skip
    print_answer(found.answer, as_json=False, private=True)
    if found.differences:
        click.echo(_("What comes out now:"))
        _print_differences(found.differences)
    click.echo()
    if found.today is None:
        click.echo(_("Asked today it has no answer: {why}").format(why=found.today_note))
    elif not found.differs_today:
        click.echo(_("Today's data and rules give the same figures."))
    else:
        click.echo(_("Today's data and rules give another value."))
        click.echo(f"  {found.today.sentence}")
        _print_differences(found.moved)
    if found.reasons:
        click.echo(_("Why:"))
    for words in found.reasons:
        click.echo(f"  {words}")


def _print_differences(differences: tuple[Difference, ...]) -> None:
    from cubital.workspace.reproducing import exact_words

    for one in differences:
        left, now = _value(one.left, one.unit), _value(one.now, one.unit)
        if left == now:
            left, now = exact_words(one)
        click.echo("  " + _("{label}: {left} left, now {now}").format(label=one.label, left=left, now=now))


def _value(value: float | None, unit: str) -> str:
    if value is None:
        return _("no value")
    return share_words(value) if unit == "proportion" else f"{value:,.4g}"


def _print_list(workspace: Workspace, *, as_json: bool) -> None:
    from cubital.workspace.receipts import list_receipts

    kept = list_receipts(workspace)
    if as_json:
        print_json([
            {"code": one.code, "made_at": one.made_at, "question": one.question, "asked": dict(one.asked),
             "batch": one.pin.batch, "sentence": one.said["sentence"]}
            for one in kept
        ])  # fmt: skip
        return
    if not kept:
        click.echo(_("No receipt has been kept yet. Papers and tables that leave keep theirs by themselves."))
    for one in kept:
        click.echo(f"{one.code}  {day_words(one.made_at.date())}  {one.said['question']}")


def _plain(found: Reproduced) -> dict[str, Any]:
    return {
        "code": found.kept.code,
        "sameness": found.sameness,
        "why": found.why,
        "question": found.kept.question,
        "asked": dict(found.kept.asked),
        "made_at": found.kept.made_at,
        "batch": found.kept.pin.batch,
        "charter": found.kept.charter,
        "policy": found.kept.policy,
        "code_version": found.kept.code_version,
        "answer": build_answer_dict(found.answer),
        "differences": found.differences,
        "today": build_answer_dict(found.today) if found.today else None,
        "today_note": found.today_note,
        "moved": found.moved,
        "reasons": found.reasons,
        "private": private_words(),
    }


def add_commands(root: click.Group) -> None:
    """Hangs this module's command on the root."""
    root.add_command(again_command)
