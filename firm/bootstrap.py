"""Set-up with nothing but the standard library."""


def enter(argv: list[str]) -> None:
    return
