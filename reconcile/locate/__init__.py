"""Where every station is really attached, from observations alone. Pure: frames in, typed results out."""
