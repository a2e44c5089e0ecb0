"""Tables of comma-separated values whose first line names columns and units."""

from __future__ import annotations

import csv

import numpy as np
from numpy.typing import NDArray

from evenfront import units as u


def read_columns(text: str, columns: dict[str, u.Kind]) -> dict[str, NDArray[np.float64]]:
    """Columns of a table of comma-separated values.

    Parameters
    ----------
    text
        The first line names the columns with their units: ``time [s],motion [mm]``.
    columns
        Name and kind of each column wanted; others are passed over.

    Returns
    -------
    Values by name [SI].

    Raises
    ------
    ValueError
        With one line for each problem.
    """
    rows = [row for row in csv.reader(text.splitlines()) if row and "".join(row).strip()]
    if not rows:
        raise ValueError("the file is empty")
    head = [cell.strip() for cell in rows[0]]
    found: dict[str, NDArray[np.float64]] = {}
    problems: list[str] = []
    for name, kind in columns.items():
        at = [i for i, cell in enumerate(head) if cell.split("[")[0].strip() == name]
        if len(at) != 1 or not head[at[0]].endswith("]"):
            wanted = f"{name} [{kind.shown[0]}]"
            problems.append(f'needs one column "{wanted}" in its first line')
            continue
        unit = head[at[0]].split("[")[1].rstrip("] ")
        numbers = []
        for line, row in enumerate(rows[1:], start=2):
            cell = row[at[0]].strip() if at[0] < len(row) else ""
            try:
                numbers.append(u.si(f"{cell} {unit}", kind))
            except u.UnitError as reason:
                problems.append(f'line {line}, {name} "{cell}": {reason}')
                break
        found[name] = np.array(numbers)
    if problems:
        raise ValueError("\n".join(problems))
    return found
