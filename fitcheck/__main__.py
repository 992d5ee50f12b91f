"""`python -m fitcheck`."""

import sys

from fitcheck.cli.main import main

sys.exit(main())
