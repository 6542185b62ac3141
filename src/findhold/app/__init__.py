"""Joins pages and interface into one local web application."""
