"""What a network's daily report says, and in which words."""
