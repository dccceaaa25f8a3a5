"""The audit log: written in the transaction of what it tells, read by whoever oversees a school."""
