"""The documented record: its model, how it is read from people's files, and what can be wrong with it."""
