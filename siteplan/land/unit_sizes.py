"""How large are feet, gallons and pounds in SI, and what is standard gravity?

Each by definition. `siteplan.land.units` reads and writes quantities as text.

References
----------
NIST Special Publication 811 (2008), appendix B: inch, foot, pound and US gallon are exact, as is the standard
acceleration of free fall; memory.
"""

from __future__ import annotations

INCH, FOOT = 0.0254, 0.3048  # m
CUBIC_FOOT, CUBIC_YARD = 0.028316846592, 0.764554857984  # m3
GALLON = 3.785411784e-3  # m3, of the United States
POUND = 0.45359237  # kg
GRAVITY = 9.80665  # m/s2, standard acceleration of free fall
POUND_FORCE = POUND * GRAVITY  # N
