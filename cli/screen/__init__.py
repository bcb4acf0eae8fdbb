"""What people read: drawn from the report and from nothing else."""
