"""Consents: the ledger, its form and scans, and the form to print."""
