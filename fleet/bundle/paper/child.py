"""Set one document, a folder with paper.typ and paper.json, as PDF on standard output.

Runs as a process of its own, with little processor time and memory: the texts are other
people's. It reads that folder and the letters beside it alone: no network, no packages of the
machine, no other fonts. No Django.
"""

import resource
import sys
from pathlib import Path

import typst

CPU_S = 120
MEMORY_BYTES = 1000 * 2**20
FONTS = Path(__file__).resolve().parent / "fonts"
# ISO 19005-2 level A and ISO 14289-1: tagged, every letter embedded and named
STANDARDS = ["a-2a", "ua-1"]


def limit():
    """Bind this process: it may compute and remember, and write no file."""
    resource.setrlimit(resource.RLIMIT_CPU, (CPU_S, CPU_S))
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))


def main(folder):
    limit()
    try:
        pdf = typst.compile(
            f"{folder}/paper.typ",
            root=folder,
            font_paths=[str(FONTS)],
            ignore_system_fonts=True,
            package_path=f"{folder}/none",
            package_cache_path=f"{folder}/none",
            format="pdf",
            pdf_standards=STANDARDS,
        )
    except typst.TypstError as fault:
        sys.exit(str(fault)[:500])
    sys.stdout.buffer.write(pdf)


if __name__ == "__main__":
    main(sys.argv[1])
