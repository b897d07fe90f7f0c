"""What a bundle says of itself for machines: its scope, its files, its fingerprint."""

import hashlib
from datetime import UTC
from pathlib import Path

from shared.canonical import canonical

FORM = 2
TOOL = "cart-records 1"
CONTENT = ("tables/", "photos/", "journal/entries.jsonl", "journal/elsewhere.txt")


def is_content(name: str) -> bool:
    """Say whether a file is under the fingerprint: what was recorded, and what follows from it."""
    return name.startswith(CONTENT)


def fingerprint_of(sums) -> str:
    """Return one SHA-256 over (SHA-256, name) of the content, in the order of the ZIP.

    The same entries, scope and two moments give the same, whenever and by whom it is made.
    """
    lines = "".join(f"{sha256}  {name}\n" for sha256, name in sums)
    return hashlib.sha256(lines.encode()).hexdigest()


def sha256_of(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def manifest_of(scope, packed, *, entries, fingerprint, made_at, made_by) -> bytes:
    """Return the manifest over the files packed so far, as canonical JSON (RFC 8785)."""
    return canonical(
        {
            "form": FORM,
            "site": str(scope.site.pk),
            "site_name": scope.site.name,
            "site_slug": scope.site.slug,
            "zone": scope.site.zone,
            "happened_by": _moment(scope.cut.happened_by),
            "known_by": _moment(scope.cut.known_by),
            "from_day": scope.from_day and scope.from_day.isoformat(),
            "lifted_only": scope.lifted_only,
            "with_names": scope.with_names,
            "entries": entries,
            "content": fingerprint,
            "made_at": _moment(made_at),
            "made_by": made_by,
            "tool": TOOL,
            "files": [_file(one) for one in packed],
        }
    )


def _moment(at):
    return at.astimezone(UTC).isoformat(timespec="microseconds")


def _file(packed):
    return {
        "name": packed.name,
        "bytes": packed.size,
        "sha256": packed.sha256,
        "packed_sha256": packed.packed_sha256,
        "content": is_content(packed.name),
    }


def signature_text(key: str, signature: bytes) -> str:
    return f"key {key}\nsignature {signature.hex()}\n"
