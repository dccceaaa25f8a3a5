"""Class work: for whoever runs a class, and for whoever is in it."""
