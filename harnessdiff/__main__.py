"""``python -m harnessdiff``."""

from harnessdiff.cli.main import main

if __name__ == "__main__":
    main(prog_name="harnessdiff")
