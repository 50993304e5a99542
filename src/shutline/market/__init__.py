"""What a car will fetch, what to ask for it, and the most to pay: sums with their doubt."""
