"""Rendered doll photos with known truth: scene description -> geometry -> picture and truth.

Frame of all geometry: metres. The doll's sagittal plane is the x-y plane; +z points to the side that a square
side view looks from. Pictures: pixels, x right, y down, origin at the top-left corner of the top-left pixel.
"""
