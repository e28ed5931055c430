"""Tables are read by straight lines."""

import numpy as np
import pytest

from catchpan.physics.refrigerant.grid import Line, Sheet

LINE = Line(1.0, 0.5, np.array([[0.0, 1.0], [1.0, 3.0], [4.0, 3.0]]))
SHEET = Sheet(0.0, 1.0, 0.0, 2.0, np.array([[[0.0], [2.0]], [[10.0], [14.0]]]))


def test_a_line_is_exact_at_its_nodes_and_straight_between() -> None:
    first, second = LINE.at(np.array([1.0, 1.25, 1.5, 2.0]))
    assert first.tolist() == [0.0, 0.5, 1.0, 4.0]
    assert second.tolist() == [1.0, 2.0, 3.0, 3.0]


def test_a_line_goes_on_straight_beyond_its_ends() -> None:
    assert LINE.at(np.array([0.5, 2.5]))[0].tolist() == [-1.0, 7.0]


def test_a_sheet_is_bilinear_inside_and_held_at_its_border() -> None:
    (value,) = SHEET.at(np.array([0.5, -3.0, 9.0]), np.array([1.0, 1.0, 5.0]))
    assert value == pytest.approx([6.5, 1.0, 14.0])


def test_shapes_broadcast() -> None:
    (value,) = SHEET.at(np.zeros((3, 1)), np.zeros(4))
    assert value.shape == (3, 4)
