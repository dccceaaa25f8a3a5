"""How well landmarks and measures can be had from a picture: rendered dolls with known truth, by group, with figures.

`renders` makes and reads the pictures, `columns` are those who answer, `scoring` compares one answer with the truth,
`tables` sums up by group, `plots` draws, `calibration` finds by how much a detector's sigmas are off.
"""
