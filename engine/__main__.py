"""`python -m engine`: assess a deck file, print its format and sources, or answer one question."""

from engine.command_line import main

raise SystemExit(main())
