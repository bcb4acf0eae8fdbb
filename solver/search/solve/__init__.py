"""How models are solved, and which of them are asked."""
