"""Reference keys: written by educators, by experts each for themselves, and shown when the rule says so."""
