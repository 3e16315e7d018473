"""How hard is the barrow pushed along a route?

Rolling resistance and the weight's part along the slope, piece by piece of the way out.
It leaves out starting, bumps and what the arms carry: those come on top.
"""

from __future__ import annotations

import numpy as np
from shapely import LineString

from siteplan.haul.loads.work_rates import GRAVITY
from siteplan.haul.routes.router import Router


def route_forces(router: Router, line: LineString, *, mass: float, barrow: float) -> tuple[float, float]:
    """Return the push averaged over a line, downhill as none, and the hardest on it. [N]

    Parameters
    ----------
    router : Router
    line : LineString
        In the direction walked. [m]
    mass : float
        Of the load. [kg]
    barrow : float
        Of the barrow itself. [kg]
    """
    lengths, rise, rolling = router.slopes(line)
    angle = np.arctan(rise)
    push = (mass + barrow) * GRAVITY * np.maximum(rolling * np.cos(angle) + np.sin(angle), 0.0)
    if lengths.sum() <= 0:
        return float(push.mean()), float(push.max())
    return float((push * lengths).sum() / lengths.sum()), float(push.max())
