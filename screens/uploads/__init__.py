"""Photos on their way in: consent or doll first, then crop and covers, one by one or many at once."""
