"""``python -m tui FILE SECONDS``: the screen in a process of its own, as a page in a browser opens it."""

import sys
from pathlib import Path

from tui.start import rescue_words, run

kept = run(Path(sys.argv[1]), float(sys.argv[2]))
if kept is not None:
    sys.stderr.write(f"{rescue_words(kept)}\n")
