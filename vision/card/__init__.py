"""The printed scale card: laid out, written as a PDF, found in a photo."""
