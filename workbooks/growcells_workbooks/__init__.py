"""Grow logs as files: recalculation without a spreadsheet program, the weekly report, the starter log."""
