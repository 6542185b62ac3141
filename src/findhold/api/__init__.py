"""The same service for programs: JSON in, JSON out, described by OpenAPI."""
