"""The operations: what each takes and gives, declared once, and the function between. They know no HTTP."""
