"""Where does the sun fall?

How a map of sun hours is made, from left to right; each step is a folder or a module:

    path        the sun's position at each step of the year (solar_path), in finer parts (fine_path), on days that
                count together (day_periods)
                  -> sky_table: a histogram of sun time by azimuth and elevation, a column for each period of days,
                     summed up from the horizon (prefix sums)
    obstacles   features as vertical prisms (prisms, crowns, plant_rows, trellis), invalid outlines repaired
                (outline_repair), cut into convex pieces (convex_pieces), laid out as flat arrays (packed_prisms);
                how much light bodies let through, and when (bodies); columns of a surface raster (surface_columns)
    engine      holds path and obstacles, and calls the lookup
    lookup      tiles: points in square tiles, on all cores; for each tile
                  culling              drops the pieces that cannot matter, by a bound on the sun time they could hide
                  occlusion_culling    drops the pieces hidden by others, if there are many
                  terrain_horizon      gives the horizon of the ground, surface_horizon that of a surface raster
                and for each point (sky_lookup)
                  horizon              draws opaque obstacles on the ground as a horizon, bin by bin
                  intervals            draws floating obstacles and screens as intervals of elevation above it
                  leaves               measures the path through leaves, cell by cell of the sky
                  table_sums           subtracts what they hide from the sky's table: two reads an interval
                  leaf_sums            subtracts what leaves hide
    sun_maps    joins the hours of all cells into maps; bed_sun gives those of one bed's soil
    doubt       how sure the hours are, and which uncertain figures matter

The cost does not grow with the steps of the year, only with points, directions and obstacles near them. Light is
computed in the same way from other tables: `light/irradiance` weights the sun's path by the energy of its beam,
`light/sky_view` makes a table of the whole sky for the sky view factor, `light/reflection` estimates what walls throw
back, and `light/daily_light` adds them up.

`ray_casting` answers the same questions exactly, ray by ray, and slowly: the reference that the lookup is tested
against.

A point's horizon is a slope (rise over run) for each of 720 bins of azimuth. A body is part of a feature. A screen
attenuates a ray once, by its transmittance; leaves attenuate it by the length of its path through them. Opacity is
1 minus the transmittance of a screen.
"""
