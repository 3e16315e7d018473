"""A yard whose trees, houses and ground are known, flown over by a laser: all of it simulated.

Pulses go down in strips, tilted by up to 15 degrees to either side. Each walks through the scene in small steps: leaves
throw back a part of it with a chance that grows with the way through them, roofs, walls and the ground all of it.
Ranges have noise. Chance is seeded. No surveyed crowns lie open at hand: this is simulation, and says nothing of how
real leaves lie.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from shapely import Polygon, box

from siteplan.land.returns import Returns

NOISE = 0.03  # m of the range, one standard deviation
STEP = 0.1  # m along a pulse
MOST_RETURNS = 5
DEPTH, FAINTEST = 0.5, 0.2  # share of a pulse that is left when it has come back once; below which nothing is heard


@dataclass(frozen=True)
class Grown:
    """A tree of the scene; `density` is the chance to meet a leaf in a metre of crown."""

    x: float
    y: float
    height: float
    diameter: float
    base: float
    form: str
    density: float = 0.6

    def holds(self, x, y, z):
        """Return which points lie in the crown; z is above the ground."""
        away = np.hypot(x - self.x, y - self.y) / (self.diameter / 2)
        up = (z - self.base) / (self.height - self.base)
        inside = (up >= 0) & (up <= 1)
        if self.form == "cylinder":
            return inside & (away <= 1)
        if self.form == "cone":
            return inside & (away <= 1 - up)
        return away**2 + (2 * up - 1) ** 2 <= 1


@dataclass(frozen=True)
class Scene:
    """What stands in a square, on ground that rises by `slope` to the east."""

    side: float
    trees: tuple[Grown, ...] = ()
    houses: tuple[tuple[Polygon, float, float], ...] = ()  # outline, eaves, ridge; the ridge along x
    slope: float = 0.08
    blocks: tuple[tuple[Polygon, float, bool], ...] = field(default=())  # outline, height, whether it has leaves

    def ground(self, x, y):
        """Return the ground's elevation."""
        return 20 + self.slope * x + 0.3 * np.sin(x / 12) * np.cos(y / 15)

    def solid(self, x, y):
        """Return how high solid things stand above the ground at points; 0 where none."""
        high = np.zeros(np.shape(x))
        for outline, eaves, ridge in self.houses:
            west, south, east, north = outline.bounds
            half, middle = (north - south) / 2, (north + south) / 2
            on = (x >= west) & (x <= east) & (y >= south) & (y <= north)
            high = np.where(on, ridge - (ridge - eaves) * np.abs(y - middle) / half, high)
        for outline, height, leafy in self.blocks:
            west, south, east, north = outline.bounds
            on = (x >= west) & (x <= east) & (y >= south) & (y <= north)
            high = np.where(on & (not leafy), height, high)
        return high


def trees_of_the_scene(seed: int = 4) -> tuple[Grown, ...]:
    """Return trees apart from each other, in touching pairs, and in a dense stand in one corner."""
    chance = np.random.default_rng(seed)
    grown = []
    for row in range(4):  # apart
        for column in range(5):
            height = float(chance.uniform(4, 18))
            width = float(min(chance.uniform(0.4, 0.75) * height, 10.0))
            base = float(chance.uniform(0.15, 0.35) * height)
            form = ("ellipsoid", "cone", "cylinder")[(row + column) % 3]
            x, y = 10 + 14.0 * column + chance.uniform(-1.5, 1.5), 8 + 13.0 * row + chance.uniform(-1.5, 1.5)
            grown.append(Grown(x, y, height, width, base, form))
    for number in range(5):  # pairs that touch
        x, y = 10.0 + 14 * number, 64.0
        for way, height in ((-1, 9.0 + number), (1, 7.0 + number)):
            form = ("ellipsoid", "cone")[number % 2]
            grown.append(Grown(x + way * 2.4, y, height, 5.0, 0.25 * height, form))
    return tuple(grown)


def flown(scene: Scene, *, density: float = 8.0, seed: int = 1, classified: bool = False) -> Returns:
    """Return the points of a flight over a scene.

    Parameters
    ----------
    scene : Scene
    density : float
        Pulses to a square metre, of two strips that lie over each other.
    seed : int
    classified : bool
        Whether points on the ground and on roofs are called so.
    """
    chance = np.random.default_rng(seed)
    count = round(density * scene.side**2)
    x0, y0 = chance.uniform(0, scene.side, (2, count))
    strip = np.where(np.arange(count) % 2 == 0, -0.4, 1.4) * scene.side  # where the aeroplane flies
    tilt = np.clip((x0 - strip) / 1000.0, -np.tan(np.radians(15)), np.tan(np.radians(15)))
    tilt += np.where(np.arange(count) % 4 < 2, 0.12, -0.12)
    top = 1 + max([one.height for one in scene.trees] + [ridge for _, _, ridge in scene.houses] + [4.0])
    left, last_hit = np.ones(count), np.zeros(count, dtype=int)
    alive = np.ones(count, dtype=bool)
    lean = 0.4 * top  # m that a pulse goes aside at most
    about = [
        np.flatnonzero((np.abs(x0 - tree.x) < tree.diameter / 2 + lean) & (np.abs(y0 - tree.y) < tree.diameter / 2))
        for tree in scene.trees
    ]
    found = []
    for down in np.arange(top, -0.5, -STEP):
        x, y = x0 - tilt * down, y0
        on = np.flatnonzero(alive)
        hit = np.zeros(count, dtype=bool)
        for tree, close in zip(scene.trees, about, strict=True):
            if not tree.base <= down <= tree.height:
                continue
            near = close[alive[close]]
            inside = near[tree.holds(x[near], y[near], down)]
            hit[inside] |= chance.uniform(size=len(inside)) < tree.density * STEP * left[inside]
        for outline, height, leafy in scene.blocks:
            if leafy and down <= height:
                west, south, east, north = outline.bounds
                inside = on[(x[on] >= west) & (x[on] <= east) & (y[on] >= south) & (y[on] <= north)]
                hit[inside] |= chance.uniform(size=len(inside)) < 2.0 * STEP * left[inside]
        solid = scene.solid(x, y)
        stop = alive & (down <= np.maximum(solid, 0.0))
        leaf = hit & ~stop
        built = solid > 2.5  # walls of a garden are called nothing
        for where, kind in (
            (leaf, 1), (stop & built, 6), (stop & ~built & (solid > 0.1), 0), (stop & (solid <= 0.1), 2),
        ):  # fmt: skip
            at = np.flatnonzero(where)
            last_hit[at] += 1
            height = np.where(kind == 1, down, solid[at])
            found.append(np.column_stack([at, x[at], y[at], height, np.full(len(at), kind), last_hit[at]]))
        left[leaf] *= DEPTH
        alive &= ~stop & (last_hit < MOST_RETURNS) & (left > FAINTEST)
    return _as_returns(np.concatenate(found), last_hit, scene, chance, classified=classified)


def _as_returns(rows, count, scene, chance, *, classified):
    pulse = rows[:, 0].astype(int)
    x, y = rows[:, 1], rows[:, 2]
    z = scene.ground(x, y) + rows[:, 3] + chance.normal(0, NOISE, len(rows))
    kind = rows[:, 4].astype(np.uint8) if classified else np.ones(len(rows), dtype=np.uint8)
    return Returns(x, y, z, kind, rows[:, 5] >= count[pulse], count[pulse] > 1)


def small_scene() -> Scene:
    """Return a yard with a house, a wall, a hedge and three trees, 60 m wide."""
    return Scene(
        side=60.0,
        trees=(
            Grown(12, 45, 12.0, 7.0, 3.0, "ellipsoid"),
            Grown(30, 48, 8.0, 5.0, 1.5, "cone"),
            Grown(50, 44, 6.0, 4.0, 1.5, "cylinder", density=2.0),
        ),
        houses=((box(20, 12, 34, 20), 3.5, 7.5),),
        blocks=((box(5, 5, 5.9, 30), 1.8, True), (box(45, 5, 45.5, 30), 2.0, False)),
    )
