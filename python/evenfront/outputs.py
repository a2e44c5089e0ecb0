"""Files a command writes: looked at before anything is computed, written all or none."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterable, Mapping
from pathlib import Path

from evenfront.case import CaseError

PLOT_SUFFIXES = (".png", ".svg", ".pdf")
"""Kinds of picture."""

Content = bytes | str


def checked(
    options: Mapping[str, str | None], inputs: Iterable[tuple[str, str]]
) -> dict[str, Path]:
    """Files asked for by option.

    Parameters
    ----------
    options
        What was given with each option, None where it was not; ``--plot`` has to name a picture.
    inputs
        What is read, as "the case file itself" and its path: never written over.

    Raises
    ------
    CaseError
        With every file that cannot be written.
    """
    found = {option: Path(path) for option, path in options.items() if path is not None}
    problems = []
    seen = {Path(path).resolve(): name for name, path in inputs}
    for option, path in found.items():
        place = path.resolve()
        if place in seen:
            problems.append(f"{option} {path}: is {seen[place]}; give another file")
        elif path.is_dir():
            problems.append(f"{option} {path}: is a directory; give a file")
        elif not path.parent.is_dir():
            problems.append(f"{option} {path}: there is no folder {path.parent}")
        elif not os.access(path if path.exists() else path.parent, os.W_OK):
            problems.append(f"{option} {path}: cannot be written here")
        elif option == "--plot" and path.suffix.lower() not in PLOT_SUFFIXES:
            problems.append(f"--plot {path}: must end in {', '.join(PLOT_SUFFIXES)}")
        seen[place] = f"written by {option} already"
    if problems:
        raise CaseError(problems)
    return found


def write(contents: Mapping[Path, Content]) -> None:
    """Write all files or none: beside their places first, then renamed.

    Raises
    ------
    CaseError
        Where one cannot be written.
    """
    ready: list[tuple[Path, Path]] = []
    try:
        for path, content in contents.items():
            data = content.encode() if isinstance(content, str) else content
            place = path.resolve()
            if place.exists() and not place.is_file():  # a pipe or device is never replaced
                place.write_bytes(data)
                continue
            draft = place.with_name(f".{place.name}.{os.getpid()}.part")
            ready.append((draft, place))
            draft.write_bytes(data)
        for draft, place in ready:
            draft.replace(place)
    except OSError as reason:
        raise CaseError(
            [f"{path}: cannot be written: {reason.strerror or reason}; nothing was written"]
        ) from None
    finally:
        for draft, _ in ready:
            with contextlib.suppress(OSError):
                draft.unlink(missing_ok=True)
