"""Who somebody is: secrets and passwords."""
