"""The commands, one module each, in the order in which ``ringwright --help`` lists them.

Each module has ``add(commands)``, which describes its options, and imports what it runs
only when it runs.
"""
