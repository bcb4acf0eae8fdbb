"""The questions of the door, by what is asked; programs have them from `solver`, and nothing heavy is loaded before."""
