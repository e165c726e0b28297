"""Second opinions on plans: slow or foreign ways to the same answer, for tests only."""
