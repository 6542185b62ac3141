"""What a find needs beside its box: first aid, parts that want different things, order of analyses, blanks to keep.

Front doors: `first_aid.first_aid`, `composite.composites`, `order.order_clashes`, `order.order_for`, `blanks.blanks`.
All rest on tables in which every row has its source and mark; nothing here says "safe" or decides for a person.
"""
