package figure

import _ "gonum.org/v1/plot"
