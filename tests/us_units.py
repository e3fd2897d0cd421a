"""US units in others, for what tests work out by hand: NIST SP 811 (2008) Appendix B, NIST Handbook 44 Appendix C."""

from __future__ import annotations

CUBIC_INCHES_IN_GALLON = 231
LITRES_IN_GALLON = 3.785411784
GRAMS_IN_POUND = 453.59237
GRAMS_IN_OUNCE = GRAMS_IN_POUND / 16
