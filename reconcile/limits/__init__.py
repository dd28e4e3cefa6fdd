"""Is each channel as good as it should be? Published limits, each with its source, and what follows from them.

`values` is the one table of numbers, every one overridable in `toneout.toml`; `copper`, `fibre` and `power` are the
formulas on top of it; `channel` and `link` judge what is documented and what the switches report.
"""
