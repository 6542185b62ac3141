"""Pages: address to request, service, template. They compute nothing and word no rule.

Front doors: `pages.router` (all pages), `pages.mount_static`, `troubles.error_page`. A page is one module with a
`router` (and a `NAV` when it stands in the navigation) and one template; modules are found by themselves. `desk` gives
a page its visit, its office and its words; `rendering` the templates and how figures and dates are written.
"""
