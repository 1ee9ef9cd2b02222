"""What the law of personal data asks of a shop: a customer's whole record for them, and taking a person out of everything.

An erasure keeps what law and safety need (the amp, findings, readings, the safety record, bills) and puts a word in place of the
person. The owner does it; the person gets a paper that says what was erased and what was kept, why, and until when.
"""
