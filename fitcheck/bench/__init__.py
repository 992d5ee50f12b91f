"""The bench: a page of this machine to work in, on the desk and beside the engine.

A thin face, as the commands are: it reads what is typed, asks the checks, plans and reports for
the rest, and shows what they say. Nothing of an engine is known or computed here.
"""
