"""Each module makes a few faults, and counts what came of them."""
