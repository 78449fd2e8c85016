"""Whole folders: read for an answer, the car files, the events beside one, new ones, results brought in, joined.

Engine and store meet here and in the session; commands and screens start from here.
"""
