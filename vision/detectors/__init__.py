"""How detectors read a photo: turned copies, the general face and body models, the project's own networks."""
