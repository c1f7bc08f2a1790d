"""What a maker reads: the topics of the guide, each a Markdown file in this folder."""
