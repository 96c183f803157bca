"""How many examples hypothesis tries: 150, or what DEWLINE_FUZZ_EXAMPLES says (5000 before a release)."""

import os

from hypothesis import settings

fuzz = settings(max_examples=int(os.environ.get("DEWLINE_FUZZ_EXAMPLES", "150")), deadline=None)
