"""The return: the amp goes out, as repaired, unrepaired or not at all, with all that came with it and a signature.

Counter and owner work here. Accessories go back one by one as they came in; old parts are given back or refused; sums are
settled or noted; whoever takes the amp signs. An ended order is never opened again: a come-back is a new one.
"""
