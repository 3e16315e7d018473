"""Where does a picture of the ground lie in the site's frame?

Its file stays where it is, and is read by whoever shows it. It leaves out its pixels.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from siteplan.land.picture_map import PictureMap


@dataclass(frozen=True, eq=False)
class GroundPicture:
    """A picture that lies under the map.

    Attributes
    ----------
    folder : Path
        The site's, which holds it.
    lies : PictureMap
        From its pixels to the site's frame.
    pins : ndarray, shape (n, 2)
        Points of the frame that are known in it. [m]
    width, height : int
        [pixels]
    strength : float
        How strongly it is seen, 0 to 1.
    """

    folder: Path
    lies: PictureMap
    pins: NDArray[np.float64]
    width: int
    height: int
    strength: float
