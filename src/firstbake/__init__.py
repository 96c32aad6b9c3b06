"""firstbake plans a layered porcelain crown so that it is right at its first bake."""

__all__ = ["__version__"]

__version__ = "0.1.0"
