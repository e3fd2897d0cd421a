"""Stand-ins for what the tests cannot have: Excel, and the Windows packages that talk to it."""
