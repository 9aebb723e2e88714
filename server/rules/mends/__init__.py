"""What a finding says would mend it, worked into the site and checked again."""
