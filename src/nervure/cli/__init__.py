"""The commands: ``nervure COMMAND PROJECT [options]``."""

from nervure.cli.app import main

__all__ = ["main"]
