from __future__ import annotations

import pytest

from server.exchange.circuit_block import MOST_ROWS, decoded, read_block, written

SHEET = "No.\tDescription\tAmps\tRemarks\n1\tHall\t20\tattic\n\n3\tBath\t20"


def test_tabs_of_a_copied_block_make_cells_and_heads_name_the_columns():
    block = read_block(SHEET)
    assert block.head == ("No.", "Description", "Amps", "Remarks")
    assert block.columns == ("space", "name", "breaker_a", "note")
    assert block.rows == (("1", "Hall", "20", "attic"), ("3", "Bath", "20", ""))


@pytest.mark.parametrize(
    "text",
    [
        'Circuit,Watts\n"Hall, up",60\n',
        'Circuit;Watts\n"Hall, up";60\n',
        "Circuit\tWatts\r\nHall, up\t60\r\n",
    ],
)
def test_commas_semicolons_and_quotes_are_read(text: str):
    block = read_block(text)
    assert block.columns == ("name", "load_w")
    assert block.rows == (("Hall, up", "60"),)


def test_a_row_with_other_signs_than_the_rest_is_cut_at_its_semicolons():
    block = read_block("Hall\tlights\t300\nHeat pump;abc;-9")
    assert block.rows == (("Hall", "lights", "300"), ("Heat pump", "abc", "-9"))
    assert read_block("Hall\nPump; north").rows == (("Hall",), ("Pump; north",))


def test_without_heads_columns_are_taken_in_order():
    assert read_block("5\tHall\tlights").columns == ("space", "name", "feeds")
    assert read_block("5/7\tRange\trange").columns == ("space", "name", "feeds")
    assert read_block("Hall\tlights\t300").columns == ("name", "feeds", "load_w")


def test_chosen_columns_overrule_heads_and_are_filled_up():
    block = read_block(SHEET, ["", "name"])
    assert block.columns == ("", "name", "", "")
    assert len(block.rows) == 2


def test_column_named_twice_is_read_once():
    assert read_block("Circuit,Name\nHall,x").columns == ("name", "")


@pytest.mark.parametrize("text", ["", "  \n\t\n", "\n\n"])
def test_nothing_makes_no_rows(text: str):
    assert read_block(text).rows == ()


def test_rows_past_the_most_are_counted():
    block = read_block("\n".join(f"Hall {n}\tlights" for n in range(MOST_ROWS + 5)))
    assert (len(block.rows), block.left_out) == (MOST_ROWS, 5)


def test_open_quote_does_not_fail():
    assert read_block('Hall,"lights\nBath,plugs').rows


def test_written_rows_read_the_same():
    block = read_block(SHEET)
    assert read_block(written([block.head, *block.rows])) == block


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_file_is_decoded_as_spreadsheets_save_it(encoding: str):
    assert decoded("Café; 20 A".encode(encoding)) == "Café; 20 A"
