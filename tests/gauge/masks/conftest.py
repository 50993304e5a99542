"""The rendered pictures are a module of their own, that the bench draws too."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
