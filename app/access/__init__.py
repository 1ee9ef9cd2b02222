"""Who works here: people, their roles, their sign-ins, and the bench tablets that the owner has enrolled.

No account is built in; the first start makes the owner. A person signs in with a password; on an enrolled device a
six-digit PIN is enough, because the device is the second thing that is held.
"""
