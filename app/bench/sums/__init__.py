"""Bench sums: what a technician works out with a meter in one hand, shown as a sentence, a figure and a picture.

Each sum is data (`sections/`): its fields, the function of `app.electrics` that answers, how the answer is worded, the
formula in words, its sources and its caution. A sum can be kept, with its values, for an order or on its own.
"""
