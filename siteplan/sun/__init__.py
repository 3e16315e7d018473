"""Where does the sun fall?

How a map of sun hours is made, from left to right; each step is a folder or a module:

    path        the sun's position at each step of the year (solar_path), in finer parts (fine_path), on days that
                count together (day_periods)
                  -> sky_table: a histogram of sun time by azimuth and elevation, a column for each period of days,
                     summed up from the horizon (prefix sums)
    obstacles   what stands as upright prisms (prisms, crowns, plant_rows), outlines mended (outline_repair), cut into
                convex pieces (convex_pieces), laid out as flat arrays (packed_prisms); what bodies let through and
                when (bodies)
    engine      holds both, and asks
    lookup      tiles: points in square tiles, on all cores; for each tile
                  culling              drops the pieces that cannot matter, by a bound on the sun time they could hide
                  occlusion_culling    drops what other pieces hide, where much stands
                  terrain_horizon      gives the horizon of the ground
                and for each point (sky_lookup)
                  horizon              draws opaque things on the ground as a horizon, bin by bin
                  intervals            draws floating things and screens as intervals of elevation above it
                  leaves               measures the way through leaves, cell of the sky by cell
                  table_sums           subtracts what they hide from the sky's table: two looks an interval
    sun_maps    puts the hours of all cells together; bed_sun asks for the soil of one bed

The cost does not grow with the steps of the year, only with points, directions and what is near. Light goes the same
way with other tables: `light/irradiance` weighs the sun's path by the energy of its beam, `light/sky_view` makes a
table of the whole sky for the sky view factor, and `light/daily_light` adds them up.

`ray_casting` answers the same questions exactly, ray by ray, and slowly: the reference that the lookup is tested
against.

A point's horizon is a slope (rise over run) for each of 720 bins of azimuth. A body is part of a feature. A screen
weakens a ray once, by its transmittance; leaves weaken it by the way through them. Opacity is the share that a screen
takes: one less the transmittance.
"""
