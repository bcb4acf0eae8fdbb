"""A build as it stands: cards, settings, numbers and services, with no judgement."""
