"""The guides: for whoever practises, runs a class, builds a set or keeps an installation, with pictures of the program."""
