"""How high are ground, trees and roofs, by a survey from the air?

Ground first (`ground`), then roofs and leaves cell by cell (`canopy`), then each tree (`trees`), roof (`roofs`),
building (`buildings`) and hedge (`low_rows`). `survey_features` runs all of them, `reach` says how far away an
obstacle still matters, `matching` compares the result with the drawing.
"""
