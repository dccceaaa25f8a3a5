"""What an overlay is drawn from: strokes, labels, words, and the strip below the photo."""
