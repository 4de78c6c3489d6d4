"""Commands for the committee: the log of actions, the pack, the draft minute."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from cubital.cli.answering import print_answer
from cubital.cli.leaving import OUT_FILE, paper_option
from cubital.cli.shared import DAY, MONTH, facility_option, json_option, opened, print_json, unit_option
from cubital.domain.words import _, day_words, ngettext

NUMBER = click.IntRange(min=1)
on_option = click.option("--on", type=DAY, help="The day, YYYY-MM-DD; today where it is left out.")


@click.group()
def actions() -> None:
    """What was decided, which role answers for it, by when. Nothing in the log is overwritten."""


@actions.command("list")
@click.option("--on", type=DAY, help="The log as it stood on that day, YYYY-MM-DD.")
@json_option
@click.pass_context
def actions_list(ctx: click.Context, on: datetime | None, as_json: bool) -> None:
    """Every action with owner, day, state and age, the longest overdue first."""
    from cubital.workspace.actions import action_log_answer

    answer = action_log_answer(opened(ctx), today=on.date() if on else None)
    print_answer(answer, as_json=as_json)
    if not as_json and answer.table:
        for row in answer.table.rows:
            click.echo("  " + " · ".join(str(cell) for cell in row if cell not in (None, "")))


@actions.command("open")
@click.argument("words")
@click.option("--owner", required=True, help="The role that answers for it, such as 'ED lead'; never a person.")
@click.option("--due", type=DAY, required=True, help="The day by which it is due, YYYY-MM-DD.")
@click.option("--because", default="", help="Why it was decided.")
@facility_option
@unit_option
@on_option
@click.pass_context
def actions_open(
    ctx: click.Context, words: str, owner: str, due: datetime, because: str, facility: str | None, unit: str | None,
    on: datetime | None,
) -> None:  # fmt: skip
    """Opens an action."""
    from cubital.workspace.actions import NewAction, open_action

    new = NewAction(
        words=words, owner=owner, due_on=due.date(), because=because, facility=facility, unit=unit,
        opened_on=on.date() if on else None,
    )  # fmt: skip
    found = open_action(opened(ctx, create=True), action=new)
    click.echo(
        _("Action {number} is open: {owner}, due on {day}.").format(
            number=found.number, owner=found.owner, day=day_words(found.due_on)
        )
    )


@actions.command("note")
@click.argument("number", type=NUMBER)
@click.argument("words")
@on_option
@click.pass_context
def actions_note(ctx: click.Context, number: int, words: str, on: datetime | None) -> None:
    """Keeps a remark beside an open action."""
    from cubital.workspace.actions import note_on_action

    note_on_action(opened(ctx), number=number, words=words, on=on.date() if on else None)
    click.echo(_("Noted on action {number}.").format(number=number))


@actions.command("move")
@click.argument("number", type=NUMBER)
@click.option("--due", type=DAY, help="Another day, YYYY-MM-DD.")
@click.option("--owner", default="", help="Another role.")
@click.option("--because", default="", help="Why it moves.")
@on_option
@click.pass_context
def actions_move(
    ctx: click.Context, number: int, due: datetime | None, owner: str, because: str, on: datetime | None
) -> None:
    """Gives an action another day or another owner; what was agreed before stays in its story."""
    from cubital.workspace.actions import move_action

    found = move_action(
        opened(ctx), number=number, due_on=due.date() if due else None, owner=owner, words=because,
        on=on.date() if on else None,
    )  # fmt: skip
    click.echo(
        _("Action {number}: {owner}, due on {day}.").format(
            number=number, owner=found.owner, day=day_words(found.due_on)
        )
    )


@actions.command("done")
@click.argument("number", type=NUMBER)
@click.option("--words", default="", help="What came of it.")
@on_option
@click.pass_context
def actions_done(ctx: click.Context, number: int, words: str, on: datetime | None) -> None:
    """Says that an action is done. Whether it worked is another question."""
    from cubital.workspace.actions import finish_action

    finish_action(opened(ctx), number=number, words=words, on=on.date() if on else None)
    click.echo(_("Action {number} is done.").format(number=number))


@actions.command("drop")
@click.argument("number", type=NUMBER)
@click.argument("words")
@on_option
@click.pass_context
def actions_drop(ctx: click.Context, number: int, words: str, on: datetime | None) -> None:
    """Drops an action, with the reason."""
    from cubital.workspace.actions import finish_action

    finish_action(opened(ctx), number=number, dropped=True, words=words, on=on.date() if on else None)
    click.echo(_("Action {number} is dropped.").format(number=number))


@actions.command("reopen")
@click.argument("number", type=NUMBER)
@click.argument("words")
@on_option
@click.pass_context
def actions_reopen(ctx: click.Context, number: int, words: str, on: datetime | None) -> None:
    """Opens a closed action again, with the reason."""
    from cubital.workspace.actions import reopen_action

    reopen_action(opened(ctx), number=number, words=words, on=on.date() if on else None)
    click.echo(_("Action {number} is open again.").format(number=number))


@click.group()
def pack() -> None:
    """The committee's pack: six pages for others, small counts hidden, units only, never a person."""


@pack.command("make")
@click.argument("out", type=OUT_FILE)
@click.option("--from", "from_month", type=MONTH, required=True, help="First month, YYYY-MM.")
@click.option("--to", "to_month", type=MONTH, required=True, help="Last month, YYYY-MM.")
@facility_option
@click.option("--ask", "asked", default="", help="The one thing that the committee is asked to decide.")
@click.option("--message", default="", help="A line of your own, beside the sentence.")
@click.option("--on", type=DAY, help="The day that the pack carries, YYYY-MM-DD; today where it is left out.")
@paper_option
@click.pass_context
def pack_make(
    ctx: click.Context, out: Path, from_month: str, to_month: str, facility: str | None, asked: str, message: str,
    on: datetime | None, paper: str,
) -> None:  # fmt: skip
    """Makes and keeps a pack, and writes it as PDF."""
    from cubital.workspace.packs import PackAsk, PackWords, make_pack, print_pack

    workspace = opened(ctx)
    ask = PackAsk(from_month=from_month, to_month=to_month, facility=facility)
    made = make_pack(
        workspace, ask=ask, words=PackWords(message=message, ask=asked), today=on.date() if on else None
    )  # fmt: skip
    print_pack(workspace, number=made.number, out=out, paper=paper)
    click.echo(f"{out.name}: {made.sentence} {made.said['beside']}")
    if made.restated:
        click.echo(made.said["restated_sentence"])
    click.echo(_("Pack {number}. Receipts: {codes}.").format(number=made.number, codes=", ".join(made.receipts)))


@pack.command("print")
@click.argument("number", type=NUMBER)
@click.argument("out", type=OUT_FILE)
@paper_option
@click.pass_context
def pack_print(ctx: click.Context, number: int, out: Path, paper: str) -> None:
    """Writes a pack again exactly as it was made."""
    from cubital.workspace.packs import print_pack

    found = print_pack(opened(ctx), number=number, out=out, paper=paper)
    click.echo(f"{out.name}: {found.said['printed']['heading']}")


@pack.command("list")
@json_option
@click.pass_context
def pack_list(ctx: click.Context, as_json: bool) -> None:
    """Every pack that was made: its day, its months, its sentence, its receipts."""
    from cubital.workspace.packs import list_packs

    packs = list_packs(opened(ctx))
    if as_json:
        print_json(list(packs))
        return
    if not packs:
        click.echo(_("No pack has been made yet."))
    for one in packs:
        restated = (
            ngettext("; {count} earlier figure restated", "; {count} earlier figures restated", one.restated).format(
                count=one.restated
            )
            if one.restated
            else ""
        )
        click.echo(f"{one.number}  {one.made_on.isoformat()}  {one.said['printed']['heading']}{restated}")
        click.echo(f"   {one.sentence} {one.said['beside']}")
        click.echo(f"   {', '.join(one.receipts)}")


@pack.command("minute")
@click.argument("number", type=NUMBER)
@click.argument("out", type=OUT_FILE)
@click.option(
    "--decision",
    type=click.Choice(["agreed", "changed", "not-agreed", "later", "open"]),
    default="open",
    show_default=True,
    help="What became of the ask.",
)
@click.option("--wording", default="", help="What was decided, where it was changed.")
@click.option("--on", type=DAY, help="The day of the meeting, YYYY-MM-DD; the pack's own where it is left out.")
@paper_option
@click.pass_context
def pack_minute(
    ctx: click.Context, number: int, out: Path, decision: str, wording: str, on: datetime | None, paper: str
) -> None:
    """Drafts the minute: decision, actions with owner and day. Plain text where the name ends in .txt, else PDF."""
    from cubital.papers.minute_page import Outcome
    from cubital.workspace.minutes import build_minute, write_minute

    content = build_minute(
        opened(ctx), pack=number, outcome=Outcome(decision), wording=wording, on=on.date() if on else None
    )
    write_minute(content, out=out, paper=paper)
    words = ngettext("{count} action in it", "{count} actions in it", len(content.actions))
    click.echo(f"{out.name}: {words.format(count=len(content.actions))}")


def add_commands(root: click.Group) -> None:
    """Hangs this module's commands on the root."""
    for command in (actions, pack):
        root.add_command(command)
