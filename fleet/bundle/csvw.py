"""Metadata beside each table: what its columns are (W3C, Metadata Vocabulary for Tabular Data)."""

import json

CONTEXT = "http://www.w3.org/ns/csvw"
DIALECT = {"encoding": "utf-8", "lineTerminators": ["\r\n"], "header": True}
ENTRY = "urn:uuid:{%s}"
FIELD = "urn:cart-records:field:%s"
IN_LINE = "urn:cart-records:line:%s"


def metadata_of(table) -> str:
    """Return the metadata of a table, as text in JSON.

    Where its rows tell of one entry each, ``aboutUrl`` names that, and ``propertyUrl`` the
    field in its body, or in a line of that, which a cell repeats.
    """
    schema = {"columns": [_column(column, table) for column in table.columns]}
    if table.key:
        schema["primaryKey"] = list(table.key)
    if table.entry:
        schema["aboutUrl"] = ENTRY % table.entry
    said = {
        "@context": CONTEXT,
        "url": table.name,
        "dc:title": table.name.removesuffix(".csv").replace("_", " "),
        "dc:description": str(table.about),
        "dialect": DIALECT,
        "tableSchema": schema,
    }
    return json.dumps(said, ensure_ascii=False, indent=1) + "\n"


def _column(column, table):
    unit = f" ({column.unit})" if column.numeric and column.unit else ""
    said = {
        "name": column.name,
        "titles": column.name,
        "dc:description": f"{column.meaning}{unit}",
        "datatype": column.csvw_datatype,
        "required": column.name in table.key,
    }
    if table.entry and column.field:
        said["propertyUrl"] = (IN_LINE if column.in_line else FIELD) % column.field
    return said
