"""Watches a folder: takes each file once as it lands, and moves it aside with its account beside it.

A file counts when its batch is recorded, not when it is moved: killed in between, the next watch finds it taken, says
so, and moves it. What is wrong with the file sends it to ``refused``; what is wrong with the computer, the folder or
the workspace leaves it where it is, to be tried again.
"""

from __future__ import annotations

import errno
import os
import signal
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from threading import current_thread, main_thread
from types import FrameType
from typing import Any, TypeVar

from filelock import FileLock, Timeout

from cubital.domain.errors import (
    CubitalError,
    FileProblem,
    MachineProblem,
    QuestionsOpen,
    RequestProblem,
    WardMovements,
    WorkspaceProblem,
)
from cubital.domain.words import _
from cubital.workspace.moving import MovementReport, take_movements
from cubital.workspace.opening import Workspace
from cubital.workspace.taking import TakeReport, take_file
from cubital.workspace.watch_accounts import Account, refused_account, taken_account, write_account
from cubital.workspace.watch_settings import landing_places
from cubital.workspace.watched_folder import (
    REFUSED,
    TAKEN,
    Landing,
    LandingPlace,
    Looks,
    free_place,
    make_room,
    move_whole,
    sight_of,
    waiting_files,
)

LOCK = ".cubital-watch.lock"
SIGNALS = (signal.SIGINT, signal.SIGTERM)
Say = Callable[[str], None]
Report = TypeVar("Report", TakeReport, MovementReport)


@dataclass(frozen=True, kw_only=True)
class Pass:
    """What one look at the folder did: files taken, refused, and left for another look."""

    taken: int = 0
    refused: int = 0
    left: int = 0

    def __add__(self, other: Pass) -> Pass:
        return Pass(taken=self.taken + other.taken, refused=self.refused + other.refused, left=self.left + other.left)


class Watch:
    """One watch over ``folder``. ``usual`` is the place where one facility's files land in the folder itself.

    ``settle`` are the seconds for which a file must not change; ``say`` is told each event in one line.
    """

    def __init__(
        self, workspace: Workspace, *, folder: Path, usual: LandingPlace | None, settle: float, say: Say
    ) -> None:
        self.workspace, self.folder, self.usual, self.say = workspace, folder, usual, say
        self.looks = Looks(settle)
        self._stopping = False
        self._may_interrupt = True
        self._said: dict[str, str] = {}

    def once(self) -> Pass:
        """Takes what has landed, waiting one settling time for it; then it is done. For a task scheduler.

        Raises ``MachineProblem`` where the folder cannot be read or written.
        """
        done = Pass()
        with self._alone(), self._signals():
            done = self._look(strict=True)
            if done.left:
                time.sleep(self.looks.settle)
                done = replace(done, left=0) + self._look(strict=True)
        return done

    def until_stopped(self, *, every: float) -> None:
        """Looks every so many seconds until SIGINT or SIGTERM asks it to stop."""
        with self._alone(), self._signals():
            self.say(_("Watching {folder}.").format(folder=self.folder))
            while not self._stopping:
                self._look(strict=False)
                time.sleep(every)

    @contextmanager
    def _alone(self) -> Iterator[None]:
        """Two watches over one folder would fetch files from under each other."""
        if not self.folder.is_dir():
            raise _folder_problem(self.folder, NotADirectoryError(errno.ENOENT, os.strerror(errno.ENOENT)))
        try:
            lock = FileLock(self.folder / LOCK, preserve_lock_file=True)
            lock.acquire(timeout=0)
        except Timeout:
            raise RequestProblem(
                _("another run of Cubital watches this folder already."),
                where=str(self.folder),
                fix=_("Let that one do it, or stop it first."),
            ) from None
        except OSError as error:
            raise _folder_problem(self.folder, error) from error
        try:
            yield
        finally:
            lock.release()

    @contextmanager
    def _signals(self) -> Iterator[None]:
        """Lets a signal end the reading of a file at once, but never what lies between its record and its move."""
        if current_thread() is not main_thread():
            yield
            return
        before = {number: signal.signal(number, self._asked_to_stop) for number in SIGNALS}
        try:
            yield
        except KeyboardInterrupt:
            self.say(_("Stopped. Nothing is half taken; what was not taken lies where it was."))
        finally:
            for number, handler in before.items():
                signal.signal(number, handler)

    def _asked_to_stop(self, _number: int, _frame: FrameType | None) -> None:
        self._stopping = True
        if self._may_interrupt:
            raise KeyboardInterrupt

    @contextmanager
    def _uninterrupted(self) -> Iterator[None]:
        self._may_interrupt = False
        try:
            yield
        finally:
            self._may_interrupt = True
        if self._stopping:
            raise KeyboardInterrupt

    def _look(self, *, strict: bool) -> Pass:
        """One look at every place. A folder that cannot be used is said once and waited for, or raised if strict."""
        try:
            places = landing_places(self.folder, usual=self.usual)
            self._say_astray(places)
        except OSError as error:
            return self._wait_for(self.folder, _folder_problem(self.folder, error), strict=strict)
        except FileProblem as problem:
            return self._wait_for(self.folder, problem, strict=strict)
        self._well_again(self.folder)
        done, present = Pass(), []
        for place in places:
            try:
                files = waiting_files(place)
                if files:
                    make_room(place)
            except OSError as error:
                done += self._wait_for(place.folder, _folder_problem(place.folder, error), strict=strict)
                continue
            self._well_again(place.folder)
            present += files
            for file in files:
                done += self._try(place, file)
        self.looks.keep_only(present)
        return done

    def _try(self, place: LandingPlace, file: Path) -> Pass:
        landing = self.looks.landing(file, now=time.monotonic())
        if landing is not Landing.WHOLE:
            return self._leave(file, landing)
        sight, command = self.looks.sight(file), "take"
        try:
            try:
                report: TakeReport | MovementReport = self._take(place, file, use=take_file)
            except WardMovements:
                command = "movements"
                report = self._take(place, file, use=take_movements)
            account = taken_account(self.workspace, report)
        except (FileProblem, QuestionsOpen, RequestProblem) as problem:
            if sight_of(file) != sight:
                return self._changed(file)
            return self._refuse(place, file, problem=problem, command=command)
        except (WorkspaceProblem, MachineProblem) as problem:
            self.looks.forget(file)  # it settles anew before the next trial: trouble of the machine takes its time
            self._say_once(str(file), f"{file.name}: {problem.sentence()}")
            return Pass(left=1)
        if sight_of(file) != sight:
            return self._changed(file)
        with self._uninterrupted():
            moved = self._put(file, place.folder / TAKEN, lambda _target: account)
        self._say_taken(file, report)
        return Pass(taken=1) if moved else Pass(left=1)

    def _leave(self, file: Path, landing: Landing) -> Pass:
        if landing is Landing.EMPTY:
            self._say_once(str(file), _("{file} is empty; it is left until something is in it.").format(file=file.name))
        elif landing is Landing.HELD:
            text = _("{file} is held by another program or may not be read; it is left until it can be.")
            self._say_once(str(file), text.format(file=file.name))
        return Pass(left=1)

    def _take(self, place: LandingPlace, file: Path, *, use: Callable[..., Report]) -> Report:
        try:
            return use(
                self.workspace, file=file, facility=place.facility, timezone=place.timezone, source=place.source,
                accept=True, answers=dict(place.answers), progress=self._progress(file),
            )  # fmt: skip
        except Exception as error:
            if self._stopping:  # an interrupted engine ends its query with an error of its own
                raise KeyboardInterrupt from error
            raise

    def _progress(self, file: Path) -> Callable[[str, float], None]:
        waiting = _("Waiting for another run to finish")

        def show(step: str, _fraction: float) -> None:
            if step == waiting:
                self.say(f"{file.name}: {step}")

        return show

    def _changed(self, file: Path) -> Pass:
        """It went on growing, or vanished, while it was read: what is there when it has settled is taken then."""
        self.looks.forget(file)
        if sight_of(file) is not None:
            self.say(_("{file} changed while it was read; it is looked at again.").format(file=file.name))
        return Pass(left=1)

    def _refuse(self, place: LandingPlace, file: Path, *, problem: CubitalError, command: str) -> Pass:
        with self._uninterrupted():
            moved = self._put(
                file,
                place.folder / REFUSED,
                lambda target: refused_account(self.workspace, place, file=target, problem=problem, command=command),
            )
        self.say(_("{file} refused: {sentence}").format(file=file.name, sentence=problem.sentence()))
        return Pass(refused=1) if moved else Pass(left=1)

    def _put(self, file: Path, folder: Path, account: Callable[[Path], Account]) -> bool:
        """Account first, then the file: whoever sees the file finds its account. False where it cannot be moved now."""
        target = free_place(folder, file.name)
        try:
            write_account(target, account(target))
            move_whole(file, target)
        except OSError as error:
            self._say_once(str(file), _folder_problem(folder, error).sentence())
            return False
        self.looks.forget(file)
        self._said.pop(str(file), None)
        return True

    def _say_taken(self, file: Path, report: TakeReport | MovementReport) -> None:
        if report.already_taken:
            text = _("{file} was taken before, as batch {number}: nothing changed.")
            self.say(text.format(file=file.name, number=report.batch))
            return
        if isinstance(report, MovementReport):
            text = _("{file} taken as batch {number}: {rows} rows of movements, {stays} stays; {moved} sets moved.")
            self.say(
                text.format(
                    file=file.name, number=report.batch, rows=f"{report.rows:,}", stays=f"{report.stays:,}",
                    moved=f"{report.moved_sets:,}",
                )
            )  # fmt: skip
            return
        text = _("{file} taken as batch {number}: {rows} rows, {sets} sets; {added} new, {changed} corrected.")
        self.say(
            text.format(
                file=file.name, number=report.batch, rows=f"{report.rows:,}", sets=f"{report.sets:,}",
                added=f"{report.added:,}", changed=f"{report.changed:,}",
            )
        )  # fmt: skip

    def _wait_for(self, folder: Path, problem: CubitalError, *, strict: bool) -> Pass:
        if strict:
            raise problem
        self._say_once(str(folder), _("{sentence} Waiting for it.").format(sentence=problem.sentence()))
        return Pass()

    def _well_again(self, folder: Path) -> None:
        if self._said.pop(str(folder), None):
            self.say(_("{folder} can be used again.").format(folder=folder))

    def _say_astray(self, places: tuple[LandingPlace, ...]) -> None:
        """Files beside the hospitals' folders belong to nobody."""
        if self.usual is not None:
            return
        for file in waiting_files(LandingPlace(folder=self.folder, facility="")):
            text = _("{file} lies in no hospital's folder and is left there. Folders: {names}.")
            names = ", ".join(place.folder.name for place in places) or _("none")
            self._say_once(str(file), text.format(file=file.name, names=names))

    def _say_once(self, key: str, sentence: str) -> None:
        """The same trouble is not said at every look."""
        if self._said.get(key) != sentence:
            self._said[key] = sentence
            self.say(sentence)


def _folder_problem(folder: Path, error: OSError) -> MachineProblem:
    reason: Any = error.strerror or type(error).__name__
    return MachineProblem(
        _("this folder cannot be read and written ({reason}). Nothing in it was touched.").format(reason=reason),
        where=str(folder),
        fix=_("Check that it is there and that you may write into it."),
    )
