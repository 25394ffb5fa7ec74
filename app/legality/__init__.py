"""What a rulebook makes of jumps, in order of execution: tally, slots, units, repeats, short program."""
