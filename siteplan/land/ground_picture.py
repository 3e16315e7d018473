"""Where does a picture of the ground lie in the site's frame?

The record holds no pixels: whoever shows the picture reads its file.
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
        The site's folder, which holds the file.
    picture_map : PictureMap
        From its pixels to the site's frame.
    pins : ndarray, shape (n, 2)
        The known points that place the picture, in the site's frame. [m]
    width, height : int
        [pixels]
    strength : float
        Opacity, 0 to 1.
    """

    folder: Path
    picture_map: PictureMap
    pins: NDArray[np.float64]
    width: int
    height: int
    strength: float
