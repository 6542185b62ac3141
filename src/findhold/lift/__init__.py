"""Lifting and carrying: the board under the block, the hands on it, the mass and where it acts."""
