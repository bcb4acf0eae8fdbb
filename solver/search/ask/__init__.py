"""What is asked of one room: its ranking, front, ways out, reach."""
