"""Paper for a load of crates: the plan of each layer to scale, and the sheets with contents and loading order.

Front doors: `drawing.layer_drawing(CratePlan, layer) -> Drawing`, `shared.shared_drawing(SharedPlan) -> Drawing`,
`sheet.crate_sheets_pdf(CrateSheets) -> bytes`.
"""
