"""How is a property drawn, and a bed moved while its sun follows?

A page in the gardener's own browser, served by her own machine. It edits the same site.toml and features file that
every command reads, through the same reader; it keeps no second model of the property.
"""
