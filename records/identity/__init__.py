"""Who acts: people and their roles, accounts, sessions, join codes, passwords, the school's own sign-in."""
