"""The checks of a deck, one room for each link of the load path.

A check is a function of one part and the whole deck, registered with `@check`. It reads facts only through the views of
`engine.facts`, works out nothing itself that a formula module can, and returns a `Comparison`, a `Rule`, or None where
the question does not arise. It refuses by raising: the answer is then `cannot tell`.
"""
