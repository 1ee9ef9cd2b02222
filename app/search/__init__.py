"""Search from every page: one index over orders, customers, amps, parts and papers.

What is found is described by the room that owns it (`search.py` of that room); `app/search_kinds.py` lists them. This
package knows no room: it keeps the index in step with every save, asks it, and shows what it answers.
"""
