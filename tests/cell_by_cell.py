"""A table's rows as django_tables2 draws them, cell by cell: what ours are compared with."""

from django.template import Context, Template

ROWS = Template(
    """{% for row in table.paginated_rows %}<tr>
{% for column, cell in row.items %}<td {{ column.attrs.td.as_html }}"""
    """ data-label="{{ column.header }}">{{ cell }}</td>
{% endfor %}</tr>
{% endfor %}"""
)


def cell_by_cell(table) -> str:
    return ROWS.render(Context({"table": table}))
