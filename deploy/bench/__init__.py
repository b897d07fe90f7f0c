"""The benchmark: what the tool costs, each line against a limit in the same run."""

import sys
from pathlib import Path

# the starter's modules run before anything is installed, so they are in no package
sys.path.append(str(Path(__file__).resolve().parent.parent / "starting"))
