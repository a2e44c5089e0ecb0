"""The compiled core seen from Python: values, docstrings, arrays, threads."""

import collections.abc
import copy
import doctest
import enum
import inspect
import pickle
import re
import typing
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import numpy.typing
import pytest

import evenfront
from evenfront import _core as core

NAMES = {"evenfront": evenfront, "numpy": np, "typing": typing, "collections": collections}


def fields(kind: type) -> dict[str, object]:
    """Name and type of each field of a bound struct, in order."""
    return {
        name: eval(value.fget.__doc__.split(" -> ")[-1], NAMES)
        for name, value in vars(kind).items()
        if isinstance(value, property)
    }


STRUCTS = [
    kind
    for kind in vars(core).values()
    if inspect.isclass(kind) and not issubclass(kind, enum.Enum) and fields(kind)
]
every_struct = pytest.mark.parametrize("kind", STRUCTS, ids=lambda kind: kind.__name__)


def sample(kind: object, variant: int = 0) -> object:
    """Some value of a type; another one for another variant (0 or 1)."""
    plain = {float: 1.5 + variant, int: 3 + variant, bool: bool(variant), str: "ab"[variant]}
    origin, arguments = typing.get_origin(kind), typing.get_args(kind)
    if kind in plain:
        return plain[kind]
    if origin is typing.Annotated and typing.get_origin(arguments[0]) is np.ndarray:
        values = np.arange(6.0) + variant
        return values.reshape(2, 3) if "[m, n]" in arguments else values
    if origin is typing.Annotated:  # a list of fixed size
        size = int(re.findall(r"\d+", str(arguments[1]))[0])
        return [sample(typing.get_args(arguments[0])[0], variant)] * size
    if origin is tuple and Ellipsis in arguments:
        return (sample(arguments[0], variant),)
    if origin is tuple:
        return tuple(sample(each, variant) for each in arguments)
    if arguments:  # optional
        return sample(arguments[0]) if variant else None
    assert inspect.isclass(kind), f"no sample of {kind}"
    return list(kind)[variant] if issubclass(kind, enum.Enum) else make(kind, variant)


def make(kind: type, variant: int = 0, only: str = "") -> object:
    """A bound struct with sample values; `only`: the variant in that field alone."""
    made = kind.__new__(kind)
    made.__setstate__(
        tuple(
            sample(each, variant if only in ("", name) else 0)
            for name, each in fields(kind).items()
        )
    )
    return made


@every_struct
def test_every_struct_survives_copy_and_pickle(kind):
    value = make(kind)
    assert copy.copy(value) == value
    assert copy.deepcopy(value) == value
    assert pickle.loads(pickle.dumps(value)) == value


@every_struct
def test_a_struct_differs_when_any_of_its_fields_does(kind):
    for name in fields(kind):
        assert make(kind, 1, name) != make(kind), name


@every_struct
def test_a_struct_is_made_again_from_its_fields_by_keyword(kind):
    value = make(kind)
    if hasattr(kind, "replace"):  # the caller makes it, not only the core
        assert kind(**{name: getattr(value, name) for name in fields(kind)}) == value
        for name, each in fields(kind).items():
            assert value.replace(**{name: sample(each, 1)}) == make(kind, 1, name)
    else:
        with pytest.raises(TypeError, match="No constructor"):
            kind()


@every_struct
def test_repr_names_the_kind_and_every_field(kind):
    text = repr(make(kind))
    assert text.startswith(kind.__name__ + "(")
    assert all(f"{name}=" in text for name in fields(kind))


@every_struct
def test_every_field_tells_its_unit(kind):
    for name in fields(kind):
        assert re.search(r"\[[^\]]+\]", getattr(kind, name).__doc__), name


def test_not_a_number_is_the_same_as_itself():
    state = make(core.OffRatio).__getstate__()
    first, second = core.OffRatio.__new__(core.OffRatio), core.OffRatio.__new__(core.OffRatio)
    first.__setstate__((float("nan"), *state[1:]))
    second.__setstate__((float("nan"), *state[1:]))
    assert first == second
    assert first != make(core.OffRatio)


def test_a_struct_is_not_equal_to_another_kind():
    assert make(core.Liquid) != 1.0
    assert make(core.Liquid) != make(core.Rheology)


def test_repr_of_plain_numbers_makes_the_struct_again():
    liquid = core.Liquid(density=1600.0, bulk_modulus=2.5e9, free_gas=0.01)
    assert eval(repr(liquid), {"Liquid": core.Liquid}) == liquid


def test_structs_take_keywords_only_and_have_the_defaults_of_the_headers():
    with pytest.raises(TypeError):
        core.Liquid(1600.0, 2.5e9)
    with pytest.raises(TypeError, match="bulk_modulus"):
        core.Liquid(density=1600.0)
    liquid = core.Liquid(density=1600.0, bulk_modulus=2.5e9)
    assert liquid.reference_temperature == 298.15
    assert liquid.free_gas == core.least_free_gas
    assert core.Mixer(bore=0.01, length=0.2).blend_viscosity is None
    assert core.Segment(name="a", bore=0.01, length=1.0, temperature=300.0).rating == np.inf


def test_fields_cannot_be_set_but_replaced(machine):
    with pytest.raises(AttributeError):
        machine.drive.force = 1.0
    with pytest.raises(TypeError, match="forse"):
        machine.drive.replace(forse=1.0)
    weaker = machine.replace(drive=machine.drive.replace(force=1.0))
    assert weaker.drive.force == 1.0
    assert machine.drive.force == 4600.0
    assert weaker.resin == machine.resin


def test_enums_are_also_taken_by_name():
    by_name = core.Drive(force=1.0, between_shots="vent")
    assert by_name == core.Drive(force=1.0, between_shots=core.BetweenShots.vent)
    with pytest.raises(ValueError, match="BetweenShots = 'open', must be one of hold, lock, vent"):
        core.Drive(force=1.0, between_shots="open")
    assert core.ResidenceTime("plug", 0.0).is_plug()


def documented() -> Iterator[tuple[str, str]]:
    """Name and docstring of every function, constructor and method, overloads apart."""
    for name, value in vars(core).items():
        members = {name: value}
        if inspect.isclass(value) and not issubclass(value, enum.Enum):
            members = {f"{name}.{key}": member for key, member in vars(value).items()}
        for key, member in members.items():
            if callable(member) and not key.split(".")[-1].startswith("_pybind11"):
                doc = inspect.getdoc(member) or ""
                for part in re.split(r"^\d+\. ", doc, flags=re.MULTILINE):
                    yield key, part


def sections(doc: str) -> dict[str, str]:
    """Parts of a docstring by their underlined headings."""
    pieces = re.split(r"^(\w+)\n-+\n", doc, flags=re.MULTILINE)
    return dict(zip(pieces[1::2], pieces[2::2], strict=True))


def test_documented_arguments_are_those_of_the_signature_and_carry_units():
    checked = 0
    for name, doc in documented():
        parts = sections(doc)
        if not parts:
            continue
        signature = doc.split("\n", 1)[0]
        arguments = set(re.findall(r"(?:\(|, )(\w+): ", signature)) - {"self"}
        described = dict(
            re.findall(r"^(\w+)\n    (.+)$", parts.get("Parameters", ""), re.MULTILINE)
        )
        assert set(described) == arguments, name
        checked += len(arguments)
        for said in [*described.values(), parts.get("Returns", "[]")]:
            assert re.search(r"\[[^\]]*\]", said), f"{name}: unit in {said!r}"
    assert checked > 200


def test_every_public_function_and_method_says_what_it_takes_and_returns():
    special = {"replace"}  # takes the fields, by keyword
    for name, doc in documented():
        last = name.rsplit(".", 1)[-1]
        if doc and "Overloaded function" not in doc and not last.startswith("__"):
            assert sections(doc) or last in special or last[0].isupper(), name


def test_examples_in_docstrings_hold():
    parser, failed = doctest.DocTestParser(), []
    runner = doctest.DocTestRunner(verbose=False)
    for name, doc in documented():
        test = parser.get_doctest(doc, dict(vars(core)), name, None, 0)
        if runner.run(test, out=failed.append).failed:
            failed.append(name)
    assert not failed, "".join(failed)
    assert runner.tries > 10


def test_scalars_give_floats_and_arrays_give_arrays():
    liquid = core.Liquid(density=1600.0, bulk_modulus=2.5e9, free_gas=0.01)
    pressures = np.linspace(0.0, 1e7, 6).reshape(2, 3)
    densities = core.density(liquid, pressures, 300.0)
    assert densities.shape == (2, 3)
    assert isinstance(core.density(liquid, 0.0, 300.0), float)
    assert densities[1, 2] == core.density(liquid, 1e7, 300.0)


def test_arrays_of_a_trace_are_read_only_views_of_its_memory(machine, sequence):
    trace = core.simulate(machine, sequence)
    for owner, name in [(trace, "time"), (trace.resin, "volume"), (trace.hardener, "pressure")]:
        view = getattr(owner, name)
        assert not view.flags.writeable
        assert not view.flags.owndata
        assert np.shares_memory(view, getattr(owner, name))
        with pytest.raises(ValueError, match="read-only"):
            view[0] = 0.0
    assert trace.resin.pressure.flags.c_contiguous
    assert trace.resin.pressure.shape == (trace.time.size, 17)


def test_a_view_outlives_the_trace_it_came_from(machine, sequence):
    pressure = core.simulate(machine, sequence).resin.pressure
    expected = core.simulate(machine, sequence).resin.pressure.copy()
    for _ in range(20):  # would overwrite the memory had it been freed
        core.simulate(machine, sequence)
    np.testing.assert_array_equal(pressure, expected)


def test_lists_come_back_as_tuples(machine, sequence):
    assert isinstance(machine.resin.line, tuple)
    assert isinstance(sequence.steps, tuple)


def test_four_threads_give_the_same_bits_as_one(machine, sequence):
    alone = core.simulate(machine, sequence)
    with ThreadPoolExecutor(4) as pool:
        together = list(pool.map(lambda _: core.simulate(machine, sequence), range(16)))
    assert all(trace == alone for trace in together)


def test_bad_values_arrive_as_value_errors_that_name_them(machine, sequence):
    bad = machine.replace(shaft=machine.shaft.replace(mass=-1.0))
    with pytest.raises(ValueError, match="mass = -1 kg"):
        core.simulate(bad, sequence)
    with pytest.raises(ValueError, match="density"):
        core.validate(core.Liquid(density=float("nan"), bulk_modulus=1e9))
