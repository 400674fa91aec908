"""The workbench in the browser: one page for each step, on this machine unless told otherwise."""

from nervure.web.app import create_app
from nervure.web.serving import serve
from nervure.web.settings import Settings

__all__ = ["Settings", "create_app", "serve"]
