"""Checks."""


def check_tables(draft):
    pass
