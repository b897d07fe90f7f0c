"""A stream that ends with the SHA-256 of all before it; ``tar`` reads past neither."""

import os
import re
from hashlib import sha256

from deploy.keeping.refused import Refused

SAYS = "sha256 {}\n"
SUM_BYTES = len(SAYS.format("0" * 64))


class Summing:
    """A file to write to, passed on as it is; ``close`` adds the sum."""

    def __init__(self, file):
        self._file, self._sum = file, sha256()

    def write(self, data) -> int:
        self._sum.update(data)
        return self._file.write(data)

    def close(self) -> None:
        self._file.write(SAYS.format(self._sum.hexdigest()).encode("ascii"))


class Summed:
    """A file to read from, without its sum. Raises Refused at the end where that differs."""

    def __init__(self, file, size: int):
        self._file, self._left, self._sum = file, size - SUM_BYTES, sha256()

    def read(self, size: int) -> bytes:
        data = self._file.read(min(size, self._left)) if self._left > 0 else b""
        self._sum.update(data)
        self._left -= len(data)
        if self._left == 0:
            self._compare()
        return data

    def _compare(self):
        self._left = -1
        if self._file.read(SUM_BYTES) != SAYS.format(self._sum.hexdigest()).encode("ascii"):
            raise Refused("The file was changed since it was written: take another copy of it.")


def refuse_cut(file) -> None:
    """Look at how an open file ends, and go back to its beginning."""
    size = file.seek(0, os.SEEK_END)
    file.seek(max(0, size - SUM_BYTES))
    ends = file.read()
    file.seek(0)
    if not re.fullmatch(rb"sha256 [0-9a-f]{64}\n", ends):
        raise Refused("The file is cut short, or its end was changed: take another copy of it.")
