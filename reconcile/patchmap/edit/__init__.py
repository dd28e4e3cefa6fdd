"""Edits to the user's own files of the patch map, in their own form: only the cells that change are touched.

tokens.py      a CSV text as cells with their places in it
csv_sheet.py   a CSV file: encoding, mark, quotes, separators, line ends, order and own columns stay
xlsx_sheet.py  a workbook, through openpyxl
sheet.py       what the two have in common, and what an edit is refused for
book.py        the files of one site's map, opened together, with what differs
keeping.py     writes them, keeps what was there before, and goes back
style.py       addresses and flags as the user writes them
changes.py     what can be changed, in words of the model
tables.py      carries changes out in tables, a row per cord and device
schedule.py    carries them out in a flat schedule, a row per channel
"""
