"""What the log does not tell, and why."""

from __future__ import annotations


class NotKnown(Exception):
    """Why a figure is not known; a sentence without a capital and a full stop."""
