"""`strapwork versions`: what a report of a defect has to name. Nothing is imported to find out."""

from __future__ import annotations

import click

PACKAGES = (
    "click",
    "jinja2",
    "numpy",
    "ortools",
    "pandas",
    "protobuf",
    "pydantic",
    "pydantic-core",
    "rich",
    "tomlkit",
    "typing-extensions",
)
"""What Strapwork leans on, and what that leans on where it matters for an answer."""


@click.command()
def versions() -> int:
    """Print the versions of Strapwork, Python and what they lean on."""
    rows = version_rows()
    width = max(len(name) for name, _ in rows) + 2
    click.echo("\n".join(f"{name:<{width}}{version}" for name, version in rows))
    return 0


def version_of(package: str) -> str:
    """The installed version of a package, or that it is not installed."""
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version(package)
    except PackageNotFoundError:
        return "not installed"


def version_rows() -> list[tuple[str, str]]:
    """Names and versions, Strapwork's first."""
    import platform

    python = f"{platform.python_version()} ({platform.python_implementation()}, {platform.architecture()[0]})"
    own = [("strapwork", version_of("strapwork")), ("Python", python), ("platform", platform.platform())]
    return own + [(package, version_of(package)) for package in PACKAGES]
