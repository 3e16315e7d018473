"""How steep and how wide is a path that everybody can use?

The accessibility standard's bounds for a route.
It leaves out landings, handrails and cross slopes; a path that people depend on is for a licensed designer.
"""

from __future__ import annotations

#: ADA Standards section 403, seen second-hand: a walking surface rises by at most 1:20. [rise / run]
ROUTE_SLOPE = 1 / 20
#: ADA section 403, seen second-hand: clear width of a route. [m]
ROUTE_WIDTH = 0.9144
