"""`python -m findhold.cli` is the same as `findhold`."""

from findhold.cli.main import main

main()
