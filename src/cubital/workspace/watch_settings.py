"""Which folders a watch looks into: one facility's, or a folder for each, with a small file of particulars."""

from __future__ import annotations

import os
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from cubital.domain.errors import FileProblem
from cubital.domain.words import _
from cubital.workspace.watched_folder import REFUSED, SETTINGS, TAKEN, LandingPlace

WORDS = frozenset({"facility", "timezone", "source", "answers"})


def landing_places(folder: Path, *, usual: LandingPlace | None) -> tuple[LandingPlace, ...]:
    """The places of a watched folder: the folder itself where ``usual`` names its facility, else each folder in it.

    A folder is its facility's name unless ``watch.toml`` says otherwise. ``OSError`` where the folder cannot be read,
    ``FileProblem`` where ``watch.toml`` is not understood.
    """
    if usual is not None:
        os.scandir(folder).close()
        return (usual,)
    particulars = _read_particulars(folder / SETTINGS)
    with os.scandir(folder) as entries:
        names = sorted(entry.name for entry in entries if entry.is_dir() and _is_landing(entry.name))
    return tuple(_place(folder / name, particulars.get(name, {})) for name in names)


def _is_landing(name: str) -> bool:
    return not name.startswith(".") and name not in (TAKEN, REFUSED)


def _place(folder: Path, said: Mapping[str, Any]) -> LandingPlace:
    answers = said.get("answers", {})
    return LandingPlace(
        folder=folder,
        facility=str(said.get("facility", folder.name)),
        timezone=said.get("timezone"),
        source=said.get("source"),
        answers=tuple((str(key), str(value)) for key, value in answers.items()),
    )


def _read_particulars(path: Path) -> dict[str, dict[str, Any]]:
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        return {}
    except UnicodeDecodeError as error:
        raise _not_understood(path, str(error)) from error
    try:
        found = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise _not_understood(path, str(error)) from error
    for name, said in found.items():
        _check_words(path, name, said)
    return found


def _check_words(path: Path, name: str, said: Any) -> None:
    if not isinstance(said, dict):
        raise _not_understood(path, _("'{name}' is not the name of a folder in brackets").format(name=name))
    unknown = sorted(set(said) - WORDS)
    if unknown:
        raise _not_understood(path, _("'{word}' is not one of its words").format(word=unknown[0]))
    wrong = [word for word, value in said.items() if not isinstance(value, dict if word == "answers" else str)]
    if wrong:
        raise _not_understood(path, _("the value of '{word}' is not text").format(word=wrong[0]))


def _not_understood(path: Path, reason: str) -> FileProblem:
    return FileProblem(
        _("this file of particulars is not understood ({reason}).").format(reason=reason),
        where=path.name,
        fix=_("For each folder write its name in brackets and below it facility, timezone, source or answers."),
    )
