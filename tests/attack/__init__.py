"""Folders spoilt at random, put to every verb: a sentence each time, no hang, no byte changed by what only reads."""
