"""Nervure: a workbench for clinicians who turn a piece of anatomy into a teaching card game."""

__version__ = "0.1.0"
