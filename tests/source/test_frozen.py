"""What `frozen` makes is what the standard library's frozen dataclass is."""

import dataclasses
import pickle
from concurrent.futures import ThreadPoolExecutor

import pytest

from fitcheck.source import frozen


def classes():
    """The same class, made late and made by the standard library."""

    def declared():
        class Hole:
            bore: float
            depth: float = 1.0
            note: str = dataclasses.field(default="", repr=False)

            def __str__(self):
                return f"{self.bore} by {self.depth}"

        return Hole

    return frozen(declared()), dataclasses.dataclass(frozen=True)(declared())


USES = {
    "made": lambda Hole: str(Hole(2.0)),
    "shown": lambda Hole: repr(Hole(2.0, depth=3.0, note="deep")).rpartition(".")[2],
    "equal": lambda Hole: (Hole(2.0) == Hole(2.0, 1.0), Hole(2.0) == Hole(3.0), Hole(2.0) == 2.0),
    "hashed": lambda Hole: hash(Hole(2.0)) == hash(Hole(2.0)),
    "fields": lambda Hole: [field.name for field in dataclasses.fields(Hole)],
    "replaced": lambda Hole: str(dataclasses.replace(Hole(2.0), depth=9.0)),
    "known as one": dataclasses.is_dataclass,
    "matched": lambda Hole: Hole.__match_args__,
}


@pytest.mark.parametrize("use", USES)
def test_whatever_is_asked_first_it_is_a_frozen_dataclass(use):
    late, usual = classes()
    assert USES[use](late) == USES[use](usual)


@pytest.mark.parametrize("Hole", classes(), ids=["late", "usual"])
def test_nothing_is_changed_or_taken_away(Hole):
    empty = object.__new__(Hole)  # as it is read back, without being made
    for change in (lambda: setattr(empty, "bore", 1.0), lambda: delattr(empty, "bore")):
        with pytest.raises(dataclasses.FrozenInstanceError):
            change()
    with pytest.raises(TypeError, match="missing 1 required positional argument: 'bore'"):
        Hole()


@frozen
class Part:
    name: str


@frozen
class Bolt(Part):
    length: float


@frozen(eq=False)
class Itself:
    name: str


def test_a_class_on_a_class():
    assert Bolt("head bolt", 2.5) == Bolt("head bolt", 2.5)
    assert [field.name for field in dataclasses.fields(Bolt)] == ["name", "length"]
    assert pickle.loads(pickle.dumps(Bolt("stud", 3.0))) == Bolt("stud", 3.0)


def test_without_comparison_each_is_itself():
    one, other = Itself("a"), Itself("a")
    assert one != other and len({one, other}) == 2


def test_many_threads_make_it_once():
    for _ in range(50):
        late, _ = classes()
        with ThreadPoolExecutor(8) as pool:
            assert set(pool.map(lambda n, late=late: str(late(n)), [1.0] * 8)) == {"1.0 by 1.0"}
