"""`python -m fitcheck.cli`."""

import sys

from fitcheck.cli.main import main

sys.exit(main())
