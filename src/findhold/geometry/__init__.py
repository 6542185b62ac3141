"""(to be written)"""
