"""What e-mails say: to the builder's people, to the office, and what both are told alike."""
