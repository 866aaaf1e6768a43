"""``python -m fem_motor`` is the command line."""

from fem_motor.cli import main

raise SystemExit(main())
