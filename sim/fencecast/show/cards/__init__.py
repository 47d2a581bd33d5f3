"""The cards of a walk test: director's pages, walkers' cards, log and ladder, as one PDF made from a plan alone."""
