"""Metals: one record each, in lists by kind; to add a metal, add an entry to one of the lists.

``silver``, ``copper_alloys``, ``gold`` and ``other_metals`` hold the records, ``all_metals`` joins
them; whatever takes a metal's name, or offers metals to choose from, goes by them.
"""
