"""`python -m fencecast`: the same command line."""

from fencecast.cli import main

if __name__ == "__main__":
    main(prog_name="fencecast")
