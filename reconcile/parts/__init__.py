"""What to buy and what to write on it: cord lengths from the rack, the order list, label texts."""
