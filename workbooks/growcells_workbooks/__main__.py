"""``python -m growcells_workbooks`` is the growcells command."""

from .command_line import main

if __name__ == "__main__":
    main()
