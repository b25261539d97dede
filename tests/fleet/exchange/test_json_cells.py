"""Cells of JSON: one value however it is spaced, and nothing that would not come back the same."""

from datetime import date

import pytest

from fleet.audit import canonical
from fleet.exchange.cells import CellError, Reading
from fleet.exchange.json_cells import json_list, json_object

READING = Reading(date(2026, 11, 25))


def test_spacing_and_order_say_nothing():
    one = json_object().read('{ "gap" : "P5Y",\n "a": [1, 2] }', READING)
    other = json_object().read('{"a":[1,2],"gap":"P5Y"}', READING)
    assert one == other and canonical(one) == '{"a":[1,2],"gap":"P5Y"}'


def test_what_goes_out_comes_in_as_it_was():
    text = canonical({'Größe "Ω" 測試': "a\\b\nc"})
    assert canonical(json_object().read(text, READING)) == text


@pytest.mark.parametrize(
    "typed",
    ["", "P5Y", "[]", '"x"', "5", "null", '{"a": 0.5}', '{"a": 1e3}', '{"a": NaN}',
     '{"a": Infinity}', '{"a": 1, "a": 2}', '{"a": {"b": 1, "b": 1}}', '{"a": "\\u0000"}',
     '{"a": "\\u202e"}', '{"a": "\\ud800"}', "{" * 5000, '{"a": 1} x', "{'a': 1}"],
)  # fmt: skip
def test_what_is_no_plain_object_is_refused(typed):
    with pytest.raises(CellError):
        json_object().read(typed, READING)


def test_a_list_is_a_list():
    assert json_list().read('[{"low": "-3 %"}]', READING) == [{"low": "-3 %"}]
    with pytest.raises(CellError):
        json_list().read("{}", READING)
