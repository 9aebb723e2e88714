"""The nouns of a site: plain frozen documents, and the edits that keep them computable."""
