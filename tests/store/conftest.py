"""The ledger fixture, and the folder itself on the path so that its small functions can be imported."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from conftest_store import ledger  # noqa: F401
