"""What is wrong with a case file, as sentences a person can act on.

Each reads ``file.toml: key.path = value: what is allowed``.
"""

from __future__ import annotations

import difflib
import json
import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, get_args

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo

from evenfront.schema import CaseFile
from evenfront.schema_base import Table
from evenfront.schema_drive import IndependentShafts
from evenfront.values import Marker

Steps = tuple[str | int, ...]


def split_path(path: str) -> Steps:
    """Split ``"resin.line[0].length"`` into ("resin", "line", 0, "length")."""
    steps: list[str | int] = []
    for part in path.split("."):
        found = re.fullmatch(r"(\w+)((?:\[[0-9]+\])*)", part, re.ASCII)
        if not found:
            raise LookupError('is no key path; write for example "resin.line[0].length"')
        steps.append(found[1])
        steps.extend(int(index) for index in re.findall(r"[0-9]+", found[2]))
    return tuple(steps)


def join_path(steps: Iterable[str | int]) -> str:
    """Write ("resin", "line", 0, "length") as ``resin.line[0].length``."""
    text = ""
    for step in steps:
        text += f"[{step}]" if isinstance(step, int) else f".{step}" if text else step
    return text


def _lookup(data: Any, steps: Steps) -> tuple[bool, Any]:
    """Whether the file has something at a path, and what."""
    for step in steps:
        if isinstance(step, str) and not (isinstance(data, dict) and step in data):
            return False, None
        if isinstance(step, int) and not (isinstance(data, list) and step < len(data)):
            return False, None
        data = data[step]
    return True, data


def sentence(source: str, data: Any, steps: Steps, rule: str) -> str:
    """Say what is wrong at a key path, with the value that stands there."""
    found, value = _lookup(data, steps)
    where = f"{source}: {join_path(steps)}" if steps else source
    if not found or isinstance(value, (dict, list)):
        return f"{where}: {rule}"
    return f"{where} = {_shown(value)}: {rule}"


def _shown(value: Any) -> str:
    """Write a value much as TOML would, shortened."""
    if isinstance(value, dict):
        text = "{ " + ", ".join(f"{name} = {_shown(item)}" for name, item in value.items()) + " }"
    elif isinstance(value, list):
        text = "[" + ", ".join(_shown(item) for item in value) + "]"
    else:
        text = json.dumps(value, ensure_ascii=False, default=str)
    return text if len(text) <= 60 else text[:57] + "..."


@dataclass(frozen=True)
class _Place:
    """Where in the file and in the schema an error of the checker belongs."""

    steps: Steps
    table: type[Table] | None  # that holds the last key
    siblings: tuple[type[Table], ...]  # the tables its kind could have chosen instead
    key: FieldInfo | None


def _tables(annotation: Any) -> list[type[Table]]:
    """Find the table models within a type such as list[Segment] or a union."""
    if isinstance(annotation, type) and issubclass(annotation, Table):
        return [annotation]
    return [table for part in get_args(annotation) for table in _tables(part)]


def _find_key(table: type[BaseModel], name: str) -> FieldInfo | None:
    for key, info in table.model_fields.items():
        if (info.alias or key) == name:
            return info
    return None


def _place(loc: tuple[str | int, ...], root: type[Table]) -> _Place:
    """Follow an error's location through the schema; tags of unions are no keys and drop out."""
    steps: list[str | int] = []
    table: type[Table] | None = root
    options: list[type[Table]] = [root]
    key, tag = None, None
    for part in loc:
        if isinstance(part, int):
            steps.append(part)
            continue
        if tag is not None:
            table = next(t for t in options if part in get_args(t.model_fields[tag].annotation))
            tag = None
            continue
        if key is not None:
            table = options[0] if len(options) == 1 else table
        steps.append(part)
        key = _find_key(table, part) if table else None
        if key is not None:
            inner = _tables(key.annotation)
            if inner:
                options = inner
                tag = key.discriminator if isinstance(key.discriminator, str) else None
            elif part == loc[-1]:
                break
    return _Place(tuple(steps), table, tuple(options), key)


def sentences(
    source: str, data: dict[str, Any], error: ValidationError, root: type[Table] = CaseFile
) -> list[str]:
    """One sentence per problem of a file whose top table is `root`, in the order of the schema."""
    found: dict[str, str] = {}
    for item in error.errors(include_url=False):
        place = _place(item["loc"], root)
        steps = place.steps + tuple(item.get("ctx", {}).get("keys", ()))
        steps, rule = _explain(place, steps, item)
        found.setdefault(join_path(steps), sentence(source, data, steps, rule))
    return list(found.values())


_DRIVE = 'for example { kind = "force", force = "5.1 kN" }'


def drives(data: dict[str, Any]) -> list[tuple[str, str]]:
    """Drives that are missing or stand in the wrong place, as pairs of key path and rule."""
    match data.get("shaft"):
        case {"arrangement": "independent"}:
            found = [
                (
                    f"{name}.drive",
                    'is missing: shaft.arrangement = "independent" needs it, with kind, stroke, '
                    "position and mass",
                )
                for name in ("resin", "hardener")
                if isinstance(data.get(name), dict) and "drive" not in data[name]
            ]
            if "drive" in data:
                found.append(
                    (
                        "drive",
                        'does not apply to shaft.arrangement = "independent": write resin.drive '
                        "and hardener.drive",
                    )
                )
            return found
        case _:
            found = [
                (
                    f"{name}.drive",
                    'applies only to shaft.arrangement = "independent"; a common drive is the '
                    "table drive",
                )
                for name in ("resin", "hardener")
                if isinstance(data.get(name), dict) and "drive" in data[name]
            ]
            if "drive" not in data:
                found.append(("drive", f"is missing: what pushes the shaft, {_DRIVE}"))
            return found


def _explain(place: _Place, steps: Steps, item: Any) -> tuple[Steps, str]:
    """Path to the key and the rule it breaks, for one error of the checker."""
    kind, context = item["type"], item.get("ctx", {})
    if kind == "refused":
        return steps, context["rule"]
    if kind.startswith("tuple") or (kind == "missing" and isinstance(steps[-1], int)):
        pair = steps if isinstance(steps[-1], str) else steps[:-1]
        return pair, f"must be two settings, {_example(place.key)}"
    if kind == "missing":
        return steps, f"is missing: {_meaning(place.key)}"
    if kind == "extra_forbidden":
        return steps, _unknown(str(steps[-1]), place)
    if kind.startswith("union_tag"):
        tag = context["discriminator"].strip("'")
        found = context.get("tag")
        words = [word for t in place.siblings for word in get_args(t.model_fields[tag].annotation)]
        start = "is missing: one of" if found is None else "must be one of"
        return (*steps, tag), f"{start} " + ", ".join(f'"{word}"' for word in words)
    if kind in ("model_type", "model_attributes_type", "dict_type"):
        return steps, "must be a table of keys"
    if kind == "list_type":
        return steps, f"must be a list of tables, {_example(place.key)}"
    if kind == "too_short":
        return steps, f"must not be empty, {_example(place.key)}"
    return steps, str(item["msg"])


def _example(key: FieldInfo | None) -> str:
    """Give an example of a key's value, from the key itself or from its kind of value."""
    samples: list[Any] = list(key.examples or ()) if key else []
    for marker in key.metadata if key else ():
        schema = marker.schema() if isinstance(marker, Marker) else {}
        samples = samples or list(schema.get("examples", schema.get("enum", ())))
    return f"for example {_shown(samples[0])}" if samples else "see the schema"


def _meaning(key: FieldInfo | None) -> str:
    """Give a key's meaning and an example, for the sentence about its absence."""
    meaning = (key.description or "").rstrip(".") if key else ""
    return f"{meaning[:1].lower()}{meaning[1:]}, {_example(key)}"


def _unknown(name: str, place: _Place) -> str:
    """Say what is wrong with a key its table does not have."""
    table = place.table
    if table is None:
        return "is not a key of a case file"
    if table is IndependentShafts:
        return (
            'does not apply to arrangement = "independent": write it in resin.drive and '
            "hardener.drive"
        )
    others = [t for t in place.siblings if t is not table and _find_key(t, name)]
    for tag in ("model", "kind"):
        if others and tag in table.model_fields:
            own = get_args(table.model_fields[tag].annotation)[0]
            homes = ", ".join(get_args(t.model_fields[tag].annotation)[0] for t in others)
            return f'does not apply to {tag} = "{own}"; it belongs to {homes}'
    known = [info.alias or key for key, info in table.model_fields.items()]
    near = difflib.get_close_matches(name, known, n=1)
    if near:
        return f'is not a key here; did you mean "{near[0]}"?'
    return f"is not a key here; known are {', '.join(known)}"
