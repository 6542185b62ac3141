"""What happened and what is so: events, their hash chain, and the fold that turns events into the state of a thing.

Front doors: `events.NewEvent` and `events.Event` (what can be written), `chain.seal` (hash of an event after the one
before), `fold.apply` (event + state -> state), `identity` (numbers with check characters), `uuid7.make`,
`clock.tick` (hybrid logical clock). Nothing here reads a file, a clock or a database.
"""
