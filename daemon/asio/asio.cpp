// What Boost.Asio would otherwise compile into every file that uses it: here once. Its way of
// doing so is BOOST_ASIO_SEPARATE_COMPILATION, which everybody who links this is given.
#include <boost/asio/impl/src.hpp>
