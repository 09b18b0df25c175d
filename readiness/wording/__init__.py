"""What texts are made of, below e-mails, papers and screens: from codes and facts, by audience."""
