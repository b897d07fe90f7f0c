"""One cell of a sheet read by itself: its value, or what is said against it."""

from fleet.sheets import read_sheet
from tests.fleet.sheet_samples import NUMBER, xlsx_bytes


def one_cell(spec, cell, order="mdy", build=xlsx_bytes):
    """Read one cell in a column of its own, beside a cart number."""
    content = build([["Cart number", spec.heading], ["1001", cell]])
    (row,) = read_sheet(content, "one", [NUMBER, spec], order=order).rows()
    return row


def value_of(spec, cell, order="mdy", build=xlsx_bytes):
    row = one_cell(spec, cell, order, build)
    assert row.faults == ()
    return row[spec.code]


def fault_of(spec, cell, order="mdy", build=xlsx_bytes):
    row = one_cell(spec, cell, order, build)
    (fault,) = row.faults
    return str(fault)
