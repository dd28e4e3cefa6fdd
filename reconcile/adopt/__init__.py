"""The network is right, the map follows: findings become changes of the user's own files.

wish.py       what a person asks for, and a plan
scene.py      map and network side by side, with the events behind the causes
moves.py      what was plugged elsewhere: by the ends of cords, or by the plugs of devices
arrivals.py   who is there and was not documented
records.py    what is gone, what is called otherwise
ports.py      the lists of ports that switches have in the map
planning.py   from keys to plans
adoption.py   plans carried out in `patchmap/edit`, checked, compared again, written
swapped.py    the ports of a replaced switch, as a check after a swap paired them
"""
