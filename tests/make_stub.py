"""Write python/evenfront/_core.pyi from the installed module, or check that it is up to date.

The generator reads what pybind11 says in docstrings; this mends what that cannot say: numbers in
are plain floats and ints, functions over arrays return a float for floats, enums have values.

    python tests/make_stub.py            writes
    python tests/make_stub.py --check    exit 1 and the difference if it would change
"""

import difflib
import enum
import re
import subprocess
import sys
import tempfile
from pathlib import Path

from evenfront import _core

STUB = Path(__file__).parents[1] / "python/evenfront/_core.pyi"
HEADER = "# Written by tests/make_stub.py from the built module; do not edit.\n"
PLAIN = {
    "typing.SupportsFloat | typing.SupportsIndex": "float",
    "typing.SupportsInt | typing.SupportsIndex": "int",
    "typing.Sequence": "Sequence",  # ours; the generator takes it for another
    "ClassVar[None] = None": "ClassVar[None]  # type: ignore[assignment]",
}
ARRAY = re.compile(
    r"typing\.Annotated\[(numpy\.typing\.\w+(?:\[numpy\.float64\])?)"
    r'(?:, numpy\.float64)?(?:, "[^"]*")*\]'
)
DOCSTRING = re.compile(r'"""\s*(.*?)\s*"""', re.DOTALL)
OVER_ARRAYS = re.compile(
    r"^( *)(def \w+\(.*numpy\.typing\.ArrayLike.*\)) -> (?:object|typing\.Any):$", re.MULTILINE
)


def generate() -> str:
    """Stub as the generator writes it."""
    enums = "|".join(
        name for name, value in vars(_core).items() if isinstance(value, enum.EnumType)
    )
    command = [sys.executable, "-m", "pybind11_stubgen", "evenfront._core"]
    command += ["--enum-class-locations", f"{enums}:evenfront._core"]
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run([*command, "--output-dir", folder], check=True, stderr=subprocess.PIPE)
        return (Path(folder) / "evenfront/_core.pyi").read_text(encoding="utf-8")


def with_overloads(match: re.Match[str]) -> str:
    """Floats in, float out; arrays in, array out."""
    indent, definition = match.groups()
    scalar = definition.replace("numpy.typing.ArrayLike", "float")
    return (
        f"{indent}@typing.overload\n{indent}{scalar} -> float: ...\n"
        f"{indent}@typing.overload\n{indent}{definition} -> numpy.typing.NDArray[numpy.float64]:"
    )


def tidy(match: re.Match[str]) -> str:
    """One line where one is enough."""
    body: str = match[1]
    return f'"""{body}\n"""' if "\n" in body else f'"""{body}"""'


def mend(text: str) -> str:
    """Say what the generator cannot know."""
    for found, meant in PLAIN.items():
        text = text.replace(found, meant)
    text = ARRAY.sub(r"\1", text)
    text = OVER_ARRAYS.sub(with_overloads, text)
    text = text.replace("    @classmethod\n    def __new__(cls, value):\n        ...\n", "")
    for name, kind in vars(_core).items():
        if isinstance(kind, enum.EnumType):
            for member in kind:
                found = f"    {member.name}: typing.ClassVar[{name}]"
                text = re.sub(
                    f"^{re.escape(found)}.*$",
                    f"    {member.name} = {member.value}",
                    text,
                    flags=re.MULTILINE,
                )
    text = DOCSTRING.sub(tidy, text)
    ruff = [sys.executable, "-m", "ruff", "format", "--isolated", "--line-length=100"]
    formatted = subprocess.run(
        [*ruff, "--stdin-filename=_core.pyi", "-"],
        input=text,
        text=True,
        check=True,
        stdout=subprocess.PIPE,
    )
    return HEADER + formatted.stdout


def main() -> int:
    """Write, or compare."""
    text = mend(generate())
    if "--check" not in sys.argv[1:]:
        STUB.write_text(text, encoding="utf-8")
        return 0
    old = STUB.read_text(encoding="utf-8")
    sys.stdout.writelines(
        difflib.unified_diff(old.splitlines(True), text.splitlines(True), "stored", "built", n=1)
    )
    return int(old != text)


if __name__ == "__main__":
    sys.exit(main())
