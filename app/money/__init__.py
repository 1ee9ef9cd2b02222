"""Bills, what is paid, credit notes, and what is still owed, to the last coin and beyond the day on which the amp left.

A bill has a number of its own without gaps and is never changed: a credit note corrects it. It is never above what was agreed.
What comes in or goes out is entered with its moment, the person who took it and its kind; a wrong entry is struck out and stays.
"""
