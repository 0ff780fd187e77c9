"""`python -m hingeline`: the same as the command `hingeline`."""

from render.__main__ import main

if __name__ == "__main__":
    main()
