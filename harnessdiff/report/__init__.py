"""Results as documents: findings as JSON, and the list a person reads."""
