"""Pure formulas: one scalar compiled function each, with unit, validity and source."""
