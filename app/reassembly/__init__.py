"""The way back: what came off goes on again in a computed order, measured and counted on the way, with nothing left over."""
