"""What a builder reads about a site."""
