"""After the skate: the official sheet read and audited, planned beside executed beside called, and what each cost."""
