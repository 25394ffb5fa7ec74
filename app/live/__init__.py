"""The live program: named events, the state they fold into, and the one line the coach reads."""
