"""Air, heat and supply rails as plain arithmetic: nothing here knows of cards, frames or scenarios."""
