"""What happens to the tool when things break: each fault made on purpose, and counted."""

import sys
from pathlib import Path

# the starter's modules run before anything is installed, so they are in no package
sys.path.append(str(Path(__file__).resolve().parent.parent / "starting"))
