"""From a piece file to a Piece: the model, the shape of the file, what its lines and form say."""
