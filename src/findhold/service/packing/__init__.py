"""Use cases of packing: measuring, lifting, cushioning, crates, shopping lists."""
