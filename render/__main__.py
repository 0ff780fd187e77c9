"""`python -m render`: the same as the command `hingeline`."""

from render.cli.door import main

if __name__ == "__main__":
    main()
