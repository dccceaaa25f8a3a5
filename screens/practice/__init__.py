"""The main job on one photo: score by eye, place points, score again, hand in, and the feedback."""
