"""A case: one machine with its two liquids and what it is asked to do, read from a TOML file.

Every problem of a file is reported at once, each as one sentence naming file, key, value and what
is allowed.
"""

from __future__ import annotations

import copy
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pydantic import ValidationError

if TYPE_CHECKING:
    from evenfront.run import Run

from evenfront.notes import Values
from evenfront.problems import Steps, drives, join_path, sentence, sentences, split_path
from evenfront.resolve import Resolved, TrimLimits, resolve
from evenfront.schema import CaseFile
from evenfront.schema_part import Bead, Casting


class CaseError(ValueError):
    """A case, or a file beside it, that cannot be read.

    Parameters
    ----------
    problems
        One readable sentence each: ``file.toml: key.path = value: what is allowed``.
    """

    def __init__(self, problems: Iterable[str]) -> None:
        self.problems = list(problems)
        super().__init__("\n".join(self.problems))

    def __reduce__(self) -> tuple[type[CaseError], tuple[list[str]]]:
        """Pickle by the problems, not by the joined text."""
        return CaseError, (self.problems,)


@dataclass(frozen=True, repr=False)
class Case:
    """A checked case; make another with `changed`.

    Parameters
    ----------
    source
        Name used in messages: the file's name, or "case".
    data
        The keys as written.
    resolved
        Values [SI, gauge pressures, kelvin], assumptions and warnings.
    """

    source: str
    data: Mapping[str, Any]
    resolved: Resolved = field(compare=False)

    @classmethod
    def from_dict(cls, tables: Mapping[str, Any], source: str = "case") -> Case:
        """Check a case given as nested tables, as a TOML file would hold it.

        A key whose value is None counts as left out.

        Raises
        ------
        CaseError
            With every problem found.
        """
        data = _without_none(dict(tables))
        if not data:
            raise CaseError(
                [f"{source}: empty; a case needs the tables {', '.join(_required_tables())}"]
            )
        misplaced = [sentence(source, data, split_path(path), rule) for path, rule in drives(data)]
        try:
            checked = CaseFile.model_validate(data)
        except ValidationError as error:
            raise CaseError(sentences(source, data, error) + misplaced) from None
        if misplaced:
            raise CaseError(misplaced)
        resolved, problems = resolve(checked)
        if resolved is None:
            raise CaseError(
                sentence(source, data, split_path(path), rule) for path, rule in problems
            )
        return cls(source, data, resolved)

    def changed(self, changes: Mapping[str, Any]) -> Case:
        """Copy of the case with new values, checked again.

        Parameters
        ----------
        changes
            Key paths as in messages, such as ``"resin.line[0].length"``, and what would stand in
            the file: text with a unit, a number, a table. None takes a key out, back to its
            default.

        Raises
        ------
        CaseError
            For a path that is none, or a value that is not allowed.
        """
        data = copy.deepcopy(dict(self.data))
        problems = []
        for path, value in changes.items():
            try:
                _put(data, split_path(path), copy.deepcopy(value))
            except LookupError as reason:
                problems.append(f"{self.source}: {path}: {reason.args[0]}")
        if problems:
            raise CaseError(problems)
        return Case.from_dict(data, self.source)

    def to_dict(self) -> dict[str, Any]:
        """Keys as written; `from_dict` makes the same case of them."""
        return copy.deepcopy(dict(self.data))

    @property
    def title(self) -> str:
        """Title, or the file's name where it has none."""
        return _printable(str(self.data.get("title", self.source)))

    @property
    def labels(self) -> tuple[str, str]:
        """What to call the two streams, resin first."""
        resin, hardener = (
            _printable(str(self.data[name].get("label", name))) for name in ("resin", "hardener")
        )
        return resin, hardener

    @property
    def assumptions(self) -> tuple[str, ...]:
        """What was assumed, one sentence each."""
        return self.resolved.assumptions

    @property
    def warnings(self) -> tuple[str, ...]:
        """What is unusual, one sentence each."""
        return self.resolved.warnings

    @property
    def part(self) -> Bead | Casting | None:
        """What is made of the shots [SI]; None where the case does not say."""
        return self.resolved.part

    @property
    def trim(self) -> TrimLimits:
        """Limits a trim has to keep."""
        return self.resolved.trim

    @property
    def machine(self) -> Any:
        """The machine, as the core takes it."""
        from evenfront import _core

        values = self.resolved.machine
        own = {}
        if "hardener_axis" in values:
            shaft, drive = (values["hardener_axis"][name] for name in ("shaft", "drive"))
            own["hardener_axis"] = _core.Axis(shaft=_core.Shaft(**shaft), drive=_build_drive(drive))
        return _core.Machine(
            resin=_build_stream(values["resin"]),
            hardener=_build_stream(values["hardener"]),
            shaft=_core.Shaft(**values["shaft"]),
            drive=_build_drive(values["drive"]),
            mixer=_build_mixer(values["mixer"]),
            **own,
        )

    @property
    def sequence(self) -> Any:
        """Steps, repeats and start pressures, as the core takes them."""
        from evenfront import _core

        values = self.resolved.sequence
        return _core.Sequence(
            steps=[_core.Step(**step) for step in values["steps"]],
            repeat=values["repeat"],
            start=_core.Start(**values["start"]),
        )

    @property
    def target(self) -> Any:
        """Ratio and tolerance, as the core takes them."""
        from evenfront import _core

        return _core.Target(**self.resolved.target)

    @property
    def numerics(self) -> Any:
        """Accuracy, as the core takes it."""
        from evenfront import _core

        return _core.Numerics(**self.resolved.numerics)

    def simulate(self) -> Run:
        """Run the case: every shot measured."""
        from evenfront.run import Run

        return Run(self)

    def __repr__(self) -> str:
        """Title and ratio."""
        ratio = 100 * self.resolved.target["ratio"]
        return f"Case({self.title!r}, 100:{ratio:.4g} by volume)"


def load_case(path: str | Path) -> Case:
    """Read a case file.

    Raises
    ------
    CaseError
        With every problem of the file, each as one sentence.
    """
    path = Path(path)
    name = path.name or str(path)
    return Case.from_dict(read_toml(path, name), name)


def read_text(path: Path, name: str, kind: str) -> str:
    """Text of an input file, or say in one sentence why it cannot be read.

    Parameters
    ----------
    path, name
        Where it is, and its name in messages.
    kind
        What it must be: "TOML", or "CSV" of a sheet, whose lines are rows.

    Raises
    ------
    CaseError
        With that sentence.
    """
    try:
        raw = path.read_bytes()
    except FileNotFoundError:
        raise CaseError([f"{name}: there is no such file ({path})"]) from None
    except IsADirectoryError:
        raise CaseError([f"{name}: is a directory; give the file itself"]) from None
    except (OSError, ValueError) as reason:
        why = reason.strerror if isinstance(reason, OSError) else str(reason)
        raise CaseError([f"{name}: cannot be read: {why}"]) from None
    save = f"save it as text ({kind}) with encoding UTF-8"
    if b"\0" in raw:
        raise CaseError([f"{name}: is a binary or UTF-16 file; {save}"])
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as reason:
        line = raw[: reason.start].count(b"\n") + 1
        where = f"{'row' if kind == 'CSV' else 'line'} {line}"
        raise CaseError([f"{name}: {where} is not UTF-8 text; {save}"]) from None


def read_toml(path: Path, name: str) -> dict[str, Any]:
    """Parse a TOML file, or say in one sentence why it cannot be.

    Raises
    ------
    CaseError
        With that sentence.
    """
    text = read_text(path, name, "TOML")
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as reason:
        raise CaseError([f"{name}: is not valid TOML: {reason}"]) from None
    except RecursionError:
        raise CaseError([f"{name}: is nested too deeply"]) from None


def _build_rheology(values: Values) -> Any:
    from evenfront import _core

    kinds = {"vogel": _core.Vogel, "table": _core.ViscosityTable, "cross": _core.Cross}
    nested = {name: kind(**values[name]) for name, kind in kinds.items() if name in values}
    return _core.Rheology(**{**values, **nested})


def _build_throttle(values: Values) -> Any:
    from evenfront import _core

    nested = {"valve": _core.ControlValve(**values["valve"])} if "valve" in values else {}
    return _core.Throttle(**{**values, **nested})


def _build_stream(values: Values) -> Any:
    from evenfront import _core

    return _core.Stream(
        liquid=_core.Liquid(**values["liquid"]),
        rheology=_build_rheology(values["rheology"]),
        cylinder=_core.Cylinder(**values["cylinder"]),
        line=[_core.Segment(**piece) for piece in values["line"]],
        throttle=_build_throttle(values["throttle"]),
        shutoff=_core.Shutoff(**values["shutoff"]),
        feed=_core.Feed(**values["feed"]) if values["feed"] else None,
    )


def _build_drive(values: Values) -> Any:
    from evenfront import _core

    nested = {}
    if "air" in values:
        paths = {name: _core.AirPath(**values["air"][name]) for name in ("supply", "exhaust")}
        nested["air"] = _core.AirCylinder(**{**values["air"], **paths})
    return _core.Drive(**{**values, **nested})


def _build_mixer(values: Values) -> Any:
    from evenfront import _core

    nested = {"tip": _core.Tip(**values["tip"])} if "tip" in values else {}
    return _core.Mixer(**{**values, **nested})


def _printable(text: str) -> str:
    """Text on one line, without characters that would steer a terminal."""
    return "".join(c if c.isprintable() else " " for c in text)


def _required_tables() -> list[str]:
    return [name for name, info in CaseFile.model_fields.items() if info.is_required()]


def _without_none(node: Any) -> Any:
    """Deep copy of nested tables without the keys that hold None; TOML has no null."""
    if isinstance(node, dict):
        return {key: _without_none(value) for key, value in node.items() if value is not None}
    return [_without_none(item) for item in node] if isinstance(node, list) else copy.deepcopy(node)


def _put(data: dict[str, Any], steps: Steps, value: Any) -> None:
    """Set or, with None, take out the value at a key path; missing tables are made."""
    node: Any = data
    for i, step in enumerate(steps[:-1]):
        if isinstance(step, str) and isinstance(node, dict) and isinstance(steps[i + 1], str):
            node = node.setdefault(step, {})
        else:
            node = _child(node, step, steps[: i + 1])
    last = steps[-1]
    if isinstance(last, int):
        _child(node, last, steps)
        if value is None:
            del node[last]
        else:
            node[last] = value
    elif not isinstance(node, dict):
        raise LookupError(f"{join_path(steps[:-1])} is no table")
    elif value is None:
        node.pop(last, None)
    else:
        node[last] = value


def _child(node: Any, step: str | int, steps: Steps) -> Any:
    if isinstance(step, int):
        if not isinstance(node, list):
            raise LookupError(f"{join_path(steps[:-1])} is no list")
        if step >= len(node):
            raise LookupError(f"{join_path(steps[:-1])} has {len(node)} entries, counted from 0")
        return node[step]
    if not isinstance(node, dict) or step not in node:
        raise LookupError(f"there is no {join_path(steps)} in the case")
    return node[step]
