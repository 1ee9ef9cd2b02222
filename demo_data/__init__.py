"""A shop that does not exist, in a town that does not exist, played over ten weeks by calling the services.

Every record is made the way a person makes it, so that the journal is real. Makers, people and amps are invented.
"""
