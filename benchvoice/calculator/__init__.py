"""The sums: water, cup, slurry, bucket, hydrometer and what else the bench asks for."""
