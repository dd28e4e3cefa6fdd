"""What was so, and from when to when. Read in this order:

    facts.py      one run as facts: (kind, subject) -> value, and which former facts the run had no chance to see
    stretches.py  the difference between the facts of a run and what stood before: what to close, what to open
    tables.py     the tables, and the steps by which an older file becomes a current one
    store.py      the file: opened, locked against half-written runs, read and written
    lock.py       one run per site at a time
    rhythm.py     how long a device is usually away
    past.py       what the history says of the findings of a run
    night.py      one nightly run: new, still there, gone
    lives.py      questions: what changed in each run; where something was, since when

Everything is one mechanism. A fact that stays as it is stays one row (a stretch), however many runs see it, so that
the file grows with change and not with time.
"""
