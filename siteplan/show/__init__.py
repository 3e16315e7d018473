"""Everything a person looks at: terminal, map, work sheet, charts and tables."""
