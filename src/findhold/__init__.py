"""findhold: keeps a fragile, damp find whole, damp, cool, dark, identified and findable until it can be opened."""

__version__ = "0.1.0"
