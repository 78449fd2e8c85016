"""paddock: run a cone-course season from a terminal and a folder of plain files."""

__all__ = ["__version__"]

__version__ = "0.1.0"
