"""The steps from each form of the store to the next; they run by themselves when a store is opened."""
