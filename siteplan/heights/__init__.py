"""How high are ground, trees and roofs, by a survey from the air?

Ground first (`ground`), then what stands on it, cell by cell (`canopy`), then each tree (`trees`), roof (`roofs`),
building (`buildings`) and hedge (`low_rows`); `found` asks all of them, `reach` how far away a thing still matters.
"""
