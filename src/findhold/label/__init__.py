"""Label: what stands on a label, how it is drawn, and the proof that it can be read.

Front doors: `wording.LabelFacts` and `wording.label_texts` (what a label says), `payload.speaking_text` and
`payload.restore` (the speaking code's text and back), `payload.short_text`, `layout.stock_named`, `layout.lay_out`,
`layout.draw_label` (a label on any size of stock, with what had to be left out), `release.release` (the PDF, given out
only when every code on its pages was read back), `readback.read_image` and `readback.one_label` (a photograph or scan
to identities). Texts and codes are drawn from facts handed in; nothing here knows the ledger.
"""
