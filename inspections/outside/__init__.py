"""What is opened from outside by a secret address: the client's page of a visit, an inspector's calendar."""
