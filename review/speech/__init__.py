"""What is said in a film: which words, when, how surely."""
