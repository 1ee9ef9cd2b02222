"""Preferred values, IEC 60063. Tables from memory of the standard; the eseries package has its own file."""

from __future__ import annotations

import pytest

from app.electrics import nearest, series

E24 = (1.0, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2.0, 2.2, 2.4, 2.7, 3.0, 3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6, 6.2, 6.8, 7.5,
       8.2, 9.1)  # fmt: skip


@pytest.mark.parametrize("count", [3, 6, 12, 24, 48, 96, 192])
def test_a_series_has_as_many_values_as_its_name_says(count: int) -> None:  # from memory
    values = series(f"E{count}")
    assert len(values) == count
    assert list(values) == sorted(set(values))
    assert values[0] == 1.0
    assert values[-1] < 10.0


def test_e24_and_its_thinner_series() -> None:  # from memory
    assert series("E24") == E24
    assert series("E12") == E24[::2]
    assert series("E6") == E24[::4]
    assert series("E3") == E24[::8]


def test_where_the_table_leaves_the_formula_the_table_rules() -> None:  # computed
    formula = [round(10 ** (i / 24), 1) for i in range(24)]
    leaving = [(table, power) for table, power in zip(series("E24"), formula, strict=True) if table != power]
    assert leaving == [
        (2.7, 2.6), (3.0, 2.9), (3.3, 3.2), (3.6, 3.5), (3.9, 3.8), (4.3, 4.2), (4.7, 4.6), (8.2, 8.3),
    ]  # fmt: skip


@pytest.mark.parametrize("count", [48, 96])
def test_e48_and_e96_are_the_formula(count: int) -> None:  # computed
    assert series(f"E{count}") == tuple(round(10 ** (i / count), 2) for i in range(count))


def test_e192_leaves_the_formula_once() -> None:  # computed
    formula = [round(10 ** (i / 192), 2) for i in range(192)]
    assert [(t, f) for t, f in zip(series("E192"), formula, strict=True) if t != f] == [(9.20, 9.19)]


@pytest.mark.parametrize(
    ("ohm", "name", "expected"),
    [(4700, "E6", 4700), (1234, "E12", 1200), (1050, "E24", 1000), (250e3, "E24", 240e3), (500e3, "E24", 510e3),
     (9.9, "E24", 10.0), (0.047, "E12", 0.047), (919.0, "E192", 920.0)],
)  # fmt: skip
def test_nearest_by_the_table(ohm: float, name: str, expected: float) -> None:  # computed from the table
    assert nearest(ohm, series=name) == expected
