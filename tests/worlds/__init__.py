"""Small physical networks as a model: what is wired, what every switch then knows, and the files that say so.

Nothing here imports the placement or the rules: the worlds are what those are judged by.
"""
