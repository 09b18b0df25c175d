"""What guards every request."""
