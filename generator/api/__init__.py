"""What ``import ringwright as rw`` offers; the commands and the page call the same functions.

Calls run in this process unless they are given ``workers``; figures are the same either way.
"""
