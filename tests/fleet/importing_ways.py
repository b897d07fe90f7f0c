"""Bringing a file in by its command, for tests."""

from io import StringIO

from django.core.management import CommandError, call_command


def bring(tmp_path, content, *options, sheet="carts", name="sheet.csv", site="harbour"):
    """Run the import command on a file's content; return what it printed."""
    path = tmp_path / name
    path.write_bytes(content)
    out = StringIO()
    try:
        call_command(f"import_{sheet}", str(path), "--site", site, *options, stdout=out)
    except CommandError as error:
        out.write(f"ERROR {error}\n")
    return out.getvalue()
