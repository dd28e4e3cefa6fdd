"""The command line: the only place that knows both halves. A file per group of commands, heavy imports inside them."""
