"""Pages: address to service to template."""
