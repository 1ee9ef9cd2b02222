"""The journal: who changed what, when, from which device, what stood before and what stands after.

Append-only. Each entry carries the hash of the one before it, so a missing or altered one shows; triggers in the
database refuse to change or delete one. It is written in the same transaction as the change it tells of.
"""
