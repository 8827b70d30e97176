"""Pure formulas: floats and numpy arrays in, floats and numpy arrays out.

No clock, no disk, no state, no randomness. One formula is one function, named after the quantity it
returns and, where rivals exist, after its author. Whatever is biology is an argument: the caller
takes it from the knowledge tables. Missing data (NaN) stay missing; impossible input raises
``BadInput``.
"""
